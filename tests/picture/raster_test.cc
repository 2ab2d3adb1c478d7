// SPDX-License-Identifier: Apache-2.0
#include "picture/raster.h"

#include <gtest/gtest.h>

#include "tests/picture/painted.h"

namespace drycrank::picture {
namespace {

// The projective map of the unit square to a trapezium, by hand: u = x / (1 + y), v = 2 y / (1 + y)
// sends (0,0), (1,0), (1,1), (0,1) to (0,0), (1,0), (1/2,1), (0,1); and the middle to (1/3, 2/3).
// Here 300 times as large, the page 10 by 10.
TEST(View, AProjectiveMapWorkedByHand) {
  Raster raster = Plain(300, 300, 0, 0, 0);
  Fill(raster, 99, 199, 3, 3, 250, 0, 0);  // around (100, 200): the page's middle
  const View view(raster, {{{0, 0}, {300, 0}, {150, 300}, {0, 300}}}, 10, 10);
  const Raster middle = view.Of({4.98, 4.98, 0.04, 0.04}, 25);
  EXPECT_GT(middle.At(0, 0)[0], 240);
  EXPECT_LT(view.Of({3, 5, 0.04, 0.04}, 25).At(0, 0)[0], 10);
}

TEST(View, StraightOnItIsThePictureItself) {
  Raster raster = Plain(40, 20, 10, 20, 30);
  Fill(raster, 8, 4, 4, 4, 200, 100, 50);
  const View view(raster, {{{0, 0}, {40, 0}, {40, 20}, {0, 20}}}, 40, 20);
  const Raster part = view.Of({8, 4, 4, 4}, 1);
  ASSERT_EQ(part.width, 4);
  EXPECT_NEAR(part.At(1, 1)[0], 200, 0.5);
  EXPECT_NEAR(part.At(2, 2)[2], 50, 0.5);
  EXPECT_NEAR(view.Fineness({8, 4, 4, 4}), 1, 1e-9);
}

TEST(View, WhatIsOutsideIsNotShown) {
  const Raster raster = Plain(40, 20, 0, 0, 0);
  const View view(raster, {{{-10, 0}, {30, 0}, {30, 20}, {-10, 20}}}, 40, 20);
  EXPECT_FALSE(view.Shows({5, 5, 10, 10}));
  EXPECT_TRUE(view.Shows({12, 5, 10, 10}));
}

}  // namespace
}  // namespace drycrank::picture
