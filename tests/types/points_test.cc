// SPDX-License-Identifier: Apache-2.0
#include "types/points.h"

#include <gtest/gtest.h>

namespace drycrank {
namespace {

TEST(BrokenLine, IsStraightBetweenPointsAndHeldOutside) {
  const Points points{{0, 1}, {10, 2}, {30, 6}};
  EXPECT_DOUBLE_EQ(Interpolate(points, 5), 1.5);
  EXPECT_DOUBLE_EQ(Interpolate(points, 10), 2);
  EXPECT_DOUBLE_EQ(Interpolate(points, 20), 4);
  EXPECT_DOUBLE_EQ(Interpolate(points, -1), 1);
  EXPECT_DOUBLE_EQ(Interpolate(points, 99), 6);
}

TEST(BrokenLine, InvertsRisingAndFalling) {
  const Points rising{{0, 1}, {10, 2}, {30, 6}};
  const Points falling{{0, 6}, {10, 2}, {30, 1}};
  EXPECT_DOUBLE_EQ(InterpolateInverse(rising, 4), 20);
  EXPECT_DOUBLE_EQ(InterpolateInverse(falling, 4), 5);
  EXPECT_DOUBLE_EQ(InterpolateInverse(rising, 1), 0);
  EXPECT_DOUBLE_EQ(InterpolateInverse(rising, 6), 30);
  EXPECT_DOUBLE_EQ(InterpolateInverse(rising, 9), 30);
  EXPECT_DOUBLE_EQ(InterpolateInverse(falling, 9), 0);
}

TEST(BrokenLine, InvertsToTheLowestOfSeveral) {
  const Points hill{{0, 0}, {10, 2}, {20, 0}};
  EXPECT_DOUBLE_EQ(InterpolateInverse(hill, 1), 5);
  const Points flat{{0, 0}, {10, 2}, {20, 2}, {30, 4}};
  EXPECT_DOUBLE_EQ(InterpolateInverse(flat, 2), 10);
}

TEST(BrokenLine, OfOnePointIsConstant) {
  EXPECT_DOUBLE_EQ(Interpolate({{3, 7}}, -5), 7);
  EXPECT_DOUBLE_EQ(InterpolateInverse({{3, 7}}, 9), 3);
}

TEST(BrokenLine, WithoutPointsIsZero) { EXPECT_EQ(Interpolate({}, 4), 0); }

}  // namespace
}  // namespace drycrank
