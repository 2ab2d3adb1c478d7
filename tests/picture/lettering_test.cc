// SPDX-License-Identifier: Apache-2.0
#include "picture/lettering.h"

#include <gtest/gtest.h>

#include <cmath>
#include <set>
#include <string>
#include <tuple>
#include <vector>

namespace drycrank::picture {
namespace {

using Strokes = std::vector<std::vector<std::tuple<double, double>>>;

Strokes StrokesOf(const std::string& text) {
  Strokes strokes;
  for (const Path& path : Letter(text, 10).strokes) {
    strokes.emplace_back();
    for (const PagePoint& point : path) strokes.back().emplace_back(point.x, point.y);
  }
  return strokes;
}

// Printable ASCII (ISO/IEC 646) without what no readout is named with: $ & < > @ [ \ ] ^ ` { | } ~
constexpr char kDrawn[] =
    "!\"#%'()*+,-./0123456789:;=?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz";

TEST(Lettering, EachCharacterHasStrokesOfItsOwn) {
  std::set<Strokes> seen{StrokesOf("\x7f")};  // the empty box of one that is not known
  for (const char c : std::string(kDrawn)) {
    EXPECT_TRUE(seen.insert(StrokesOf(std::string(1, c))).second) << c;
  }
}

TEST(Lettering, WhatIsNotKnownIsABox) {
  EXPECT_EQ(StrokesOf("$"), StrokesOf("\x7f"));
  EXPECT_EQ(Letter("$", 10).strokes.size(), 1U);
  EXPECT_EQ(Letter("$", 10).strokes.front().size(), 5U);
}

TEST(Lettering, UnitsThatPeopleReadAreKnown) {
  for (const char* unit : {"°", "Ω", "µ", "λ", "²", "·"}) {
    EXPECT_NE(StrokesOf(unit), StrokesOf("\x7f")) << unit;
  }
}

// Capitals and digits stand between the baseline and their height; nothing reaches below a third of it.
TEST(Lettering, StandsOnTheLineAndIsAsHighAsAsked) {
  for (const char c : std::string("0123456789ABCDEFGHIJKLMNOPRSTUVWXYZ")) {
    double low = 0, high = 0;
    for (const Path& path : Letter(std::string(1, c), 34).strokes) {
      for (const PagePoint& point : path) {
        low = std::max(low, point.y);
        high = std::min(high, point.y);
      }
    }
    EXPECT_NEAR(low, 0, 0.01) << c;
    EXPECT_NEAR(high, -34, 0.2) << c;  // an arc of twelve degrees a step may miss its top
  }
}

// Digits are of one width, so that a number that changes does not move.
TEST(Lettering, DigitsAreOfOneWidth) {
  for (const char c : std::string("0123456789")) {
    EXPECT_DOUBLE_EQ(Letter(std::string(1, c), 10).width, Letter("0", 10).width) << c;
  }
}

}  // namespace
}  // namespace drycrank::picture
