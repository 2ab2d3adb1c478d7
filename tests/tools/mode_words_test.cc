// SPDX-License-Identifier: Apache-2.0
//
// Modes as they stand in records.
#include "tools/mode_words.h"

#include <gtest/gtest.h>

namespace drycrank::tools {
namespace {

constexpr const char* kNone = "real time; stand-ins: none; outputs: driven";
constexpr const char* kDisplay = "real time; stand-ins: display only; outputs: fed, not armed";

TEST(ModeWords, WhatFollowsTheStandInsHidesNoRealController) {
  EXPECT_TRUE(WasReal(kNone, "controller"));
  EXPECT_TRUE(WasReal(kDisplay, "controller"));
  EXPECT_FALSE(WasReal(kDisplay, "display"));
  EXPECT_TRUE(WasReal("real time; stand-ins: controller only", "display"));
  EXPECT_FALSE(WasReal("real time; stand-ins: controller only", "controller"));
  EXPECT_FALSE(WasReal("virtual time; stand-ins: controller and display", "controller"));
}

TEST(ModeWords, OutputsAreDrivenWhenTheyWereArmed) {
  EXPECT_TRUE(WereOutputsDriven(kNone));
  EXPECT_FALSE(WereOutputsDriven(kDisplay));
  EXPECT_FALSE(WereOutputsDriven("real time; stand-ins: none"));
}

}  // namespace
}  // namespace drycrank::tools
