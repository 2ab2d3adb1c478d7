// SPDX-License-Identifier: Apache-2.0
//
// By hand: a sine's peak is 1.41421 times its rms (IEC 60050-103, a sine's effective value). Straight lines through two points.
#include "output/calibration.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>

namespace drycrank::output {
namespace {

using testing::HasSubstr;

// 1.8 V * 1.41421 = 2.5456 V peak at half of full scale: 5.0912 V. Against 5.3: -0.2088 / 5.3 = 3.94 %.
TEST(Calibration, FullScaleIsThePeakOfASineByItsShare) {
  const Calibrated found = CalibrateTone(5.3, 1.8);
  ASSERT_EQ(found.problem, "");
  ASSERT_EQ(found.figures.size(), 1U);
  EXPECT_EQ(found.figures[0].key, "full_scale_v");
  EXPECT_EQ(found.figures[0].value, "5.091");
  EXPECT_EQ(found.figures[0].spread, "5.3 V was stated: 3.94 % less");
  // 5.3 / 2 / 1.41421.
  EXPECT_NEAR(ToneRms(5.3), 1.8738, 1e-4);
}

TEST(Calibration, WhatNoHandMeasuresRightIsRefused) {
  for (const double rms : {0.0, -1.8, 0.37, 9.4, 230.0}) {
    const Calibrated found = CalibrateTone(5.3, rms);
    EXPECT_TRUE(found.figures.empty()) << rms;
    EXPECT_THAT(found.problem, HasSubstr("5.3 V is stated")) << rms;
  }
}

// Stated 0 to 5 V over counts 0 to 4095; measured 0.012 and 4.93 V: 0.24 % of 5 V more and 1.4 % less.
TEST(Calibration, ALineGoesThroughBothEnds) {
  const Calibrated found = CalibrateSteps(StepsBetween(0, 5, 0, 4095), 0.012, 4.93, "V");
  ASSERT_EQ(found.problem, "");
  std::string said;
  for (const Figure& f : found.figures) said += f.key + "=" + f.value + " (" + f.spread + ") ";
  EXPECT_EQ(said,
            "at_lowest_v=0.012 (0 V was stated: 0.24 % more) at_highest_v=4.93 (5 V was stated: 1.4 % less) "
            "lowest_count=0 () highest_count=4095 () ");
}

TEST(Calibration, OhmsHaveTheirOwnKeys) {
  const Calibrated found = CalibrateSteps(StepsBetween(60, 10000, 0, 127), 75, 8600, "ohm");
  ASSERT_EQ(found.problem, "");
  EXPECT_EQ(found.figures[0].key, "at_lowest_ohm");
  EXPECT_EQ(found.figures[1].value, "8600");
}

TEST(Calibration, ALineOfAnotherSizeOrDirectionIsRefused) {
  const Steps stated = StepsBetween(0, 5, 0, 4095);
  EXPECT_THAT(CalibrateSteps(stated, 0, 0, "V").problem, HasSubstr("0 to 5 V is stated"));
  EXPECT_THAT(CalibrateSteps(stated, 0, 0.9, "V").problem, HasSubstr("right range"));
  EXPECT_THAT(CalibrateSteps(stated, 30, 35, "V").problem, HasSubstr("right range"));
  EXPECT_THAT(CalibrateSteps(stated, 5, 0, "V").problem, HasSubstr("probes exchanged"));
}

}  // namespace
}  // namespace drycrank::output
