// SPDX-License-Identifier: Apache-2.0
#include "types/angle.h"

#include <gtest/gtest.h>

namespace drycrank {
namespace {

TEST(Angle, WrapsIntoThePeriod) {
  EXPECT_DOUBLE_EQ(WrapDeg(725, 720), 5);
  EXPECT_DOUBLE_EQ(WrapDeg(-10, 360), 350);
  EXPECT_DOUBLE_EQ(WrapDeg(-1e-20, 360), 0);  // never 360 itself
  EXPECT_DOUBLE_EQ(WrapSignedDeg(350, 360), -10);
}

TEST(CrankAngle, KeepsTurnsApartFromDegrees) {
  const CrankAngle a = CrankAngle::FromDegrees(28'800'000, 725.5);
  EXPECT_EQ(a.turns, 28'800'002);
  EXPECT_DOUBLE_EQ(a.deg, 5.5);
  EXPECT_DOUBLE_EQ(a.Plus(-6).deg, 359.5);
  EXPECT_DOUBLE_EQ(a.Minus(CrankAngle{28'800'000, 0}), 725.5);
}

TEST(CrankAngle, KnowsItsPlaceInTheCycle) {
  EXPECT_DOUBLE_EQ((CrankAngle{3, 10}).InCycle(720), 370);
  EXPECT_DOUBLE_EQ((CrankAngle{-1, 10}).InCycle(720), 370);
  EXPECT_DOUBLE_EQ((CrankAngle{3, 10}).InCycle(360), 10);
}

}  // namespace
}  // namespace drycrank
