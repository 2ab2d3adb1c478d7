// SPDX-License-Identifier: Apache-2.0
#include "picture/read_lamp.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "tests/picture/painted.h"

namespace drycrank::picture {
namespace {

constexpr Box kLamp{40, 40, 20, 20};
constexpr Corners kCorners{{{0, 0}, {100, 0}, {100, 100}, {0, 100}}};

// A lamp of that colour on a ground, and `glare` added to all of it.
LampReading Read(std::array<float, 3> colour, const char* name, float glare = 0, float light = 1) {
  Raster dark = Plain(100, 100, 30, 30, 32), now = Plain(100, 100, 30, 30, 32);
  Fill(dark, 40, 40, 20, 20, 45, 45, 46);
  Fill(now, 40, 40, 20, 20, colour[0], colour[1], colour[2]);
  for (auto& pixel : now.pixels) {
    for (float& c : pixel) c = std::min(255.0F, c * light + glare);
  }
  return ReadLamp(SeePage(now, kCorners, 100, 100), SeePage(dark, kCorners, 100, 100), kLamp, name);
}

TEST(Lamp, ADarkOneIsDarkInAnyLight) {
  for (const float light : {0.5F, 1.0F, 2.0F}) {
    const LampReading read = Read({45, 45, 46}, "red", 0, light);
    EXPECT_FALSE(read.is_lit);
    EXPECT_EQ(read.doubt, "") << light;
  }
}

TEST(Lamp, ALitOneIsLit) {
  EXPECT_TRUE(Read({230, 30, 25}, "red").is_lit);
  EXPECT_EQ(Read({230, 30, 25}, "red").doubt, "");
  EXPECT_TRUE(Read({250, 150, 0}, "amber").is_lit);
  EXPECT_TRUE(Read({240, 240, 240}, "white").is_lit);
  EXPECT_EQ(Read({240, 240, 240}, "white").doubt, "");
}

TEST(Lamp, AnotherColourThanItsNameIsADoubt) {
  EXPECT_NE(Read({20, 200, 60}, "red").doubt, "");
  EXPECT_NE(Read({230, 30, 25}, "blue").doubt, "");
  EXPECT_EQ(Read({20, 200, 60}, "charge").doubt, "");  // a name that says no colour
}

TEST(Lamp, WhatIsBetweenIsADoubt) { EXPECT_NE(Read({62, 45, 44}, "red").doubt, ""); }

// Two pictures taken for one another: the lit one is called dark.
LampReading Swapped(std::array<float, 3> colour, const char* name, float ground) {
  Raster lit = Plain(100, 100, ground, ground, ground), dark = lit;
  const float off = ground > 128 ? 170.0F : 45.0F;
  Fill(lit, 40, 40, 20, 20, colour[0], colour[1], colour[2]);
  Fill(dark, 40, 40, 20, 20, off, off, off);
  return ReadLamp(SeePage(dark, kCorners, 100, 100), SeePage(lit, kCorners, 100, 100), kLamp, name);
}

TEST(Lamp, OneThatIsLitInItsDarkPictureIsNeverBelievedInverted) {
  for (const float ground : {30.0F, 250.0F}) {
    EXPECT_TRUE(Swapped({230, 30, 25}, "red", ground).is_lit_where_dark) << ground;
    EXPECT_TRUE(Swapped({250, 150, 0}, "amber", ground).is_lit_where_dark) << ground;
  }
  const LampReading white = Swapped({240, 240, 240}, "white", 30);
  EXPECT_FALSE(white.is_lit);
  EXPECT_NE(white.doubt, "");
}

// A camera in little light: each colour of each pixel is off by chance, and none is below 0.
Raster Noisy(std::array<float, 3> colour, std::mt19937& chance) {
  Raster page = Plain(100, 100, 8, 8, 9);
  Fill(page, 10, 10, 30, 10, 70, 70, 70);  // its text
  Fill(page, 45, 45, 10, 10, colour[0], colour[1], colour[2]);
  std::normal_distribution<float> noise(0, 12);
  for (auto& pixel : page.pixels) {
    for (float& c : pixel) c = std::clamp(c + noise(chance), 0.0F, 255.0F);
  }
  return page;
}

TEST(Lamp, WhatChanceMakesOfADarkOneInLittleLightIsNeverBelievedLit) {
  std::mt19937 chance(1);
  const Box lamp{45, 45, 10, 10};
  int seen = 0;
  for (int i = 0; i < 100; ++i) {
    const Raster dark = Noisy({8, 8, 9}, chance), now = Noisy({8, 8, 9}, chance),
                 lit = Noisy({7, 16, 69}, chance);
    const SeenPage was = SeePage(dark, kCorners, 100, 100);
    const LampReading read = ReadLamp(SeePage(now, kCorners, 100, 100), was, lamp, "right");
    EXPECT_FALSE(read.is_lit && read.doubt.empty()) << i;
    const LampReading of_lit = ReadLamp(SeePage(lit, kCorners, 100, 100), was, lamp, "right");
    EXPECT_FALSE(!of_lit.is_lit && of_lit.doubt.empty()) << i;
    seen += of_lit.is_lit && of_lit.doubt.empty();
  }
  EXPECT_GT(seen, 50);
}

TEST(Lamp, GlareThatHidesItIsADoubt) {
  const LampReading read = Read({230, 30, 25}, "red", 255);
  EXPECT_FALSE(read.is_lit);
  EXPECT_NE(read.doubt, "");
}

}  // namespace
}  // namespace drycrank::picture
