// SPDX-License-Identifier: Apache-2.0
#include "types/wave.h"

#include <gtest/gtest.h>

namespace drycrank {
namespace {

// sin(pi/6) = 1/2 a sixth of the way, 1 in the middle, on top of a line from 1 V to 4 V.
TEST(Wave, IsAHalfSineOnALine) {
  const Wave piece{100, 700, 1, 4, 10};
  EXPECT_DOUBLE_EQ(piece.At(100), 1);
  EXPECT_NEAR(piece.At(200), 1.5 + 5, 1e-12);
  EXPECT_NEAR(piece.At(400), 2.5 + 10, 1e-12);
  EXPECT_DOUBLE_EQ(piece.At(700), 4);
  EXPECT_DOUBLE_EQ(piece.At(9000), 4);
}

TEST(Wave, ALevelHoldsUntilFurtherNotice) {
  EXPECT_DOUBLE_EQ((Wave{100, kNever, 3, 3, 0}.At(1'000'000)), 3);
}

TEST(Wave, APieceOfNoLengthIsItsBegin) { EXPECT_DOUBLE_EQ((Wave{100, 100, 2, 5, 9}.At(100)), 2); }

}  // namespace
}  // namespace drycrank
