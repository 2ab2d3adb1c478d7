// SPDX-License-Identifier: Apache-2.0
//
// By hand from the formula in diagnose/ends.h.
#include "diagnose/ends.h"

#include <gtest/gtest.h>

#include <cmath>

namespace drycrank::diagnose {
namespace {

TEST(Ends, WhatStandsStillPaysLittle) {
  EXPECT_NEAR(LogOfEnds(1, 0), std::log(0.5), 1e-9);  // 1/2 (1/2 + 1/2)
  EXPECT_NEAR(LogOfEnds(17, 0), std::log(0.5 * (0.5 + 1.0 / 18)), 1e-9);
  EXPECT_NEAR(LogOfEnds(0, 17), LogOfEnds(17, 0), 1e-12);
}

// 1/2 3! 2! / 6! = 1/120.
TEST(Ends, WhatComesAndGoesPaysForEachTime) { EXPECT_NEAR(LogOfEnds(3, 2), -std::log(120), 1e-9); }

// Three situations high, high, low of the first, low, low, high of the second, which the same output moves
// the other way: 1/2 2! 1! / 4! = 1/24 of the first, 1/2 (1/2 + 1/4) = 3/8 of the second.
TEST(Ends, WhatOneOutputMovesPaysOnce) {
  EndsSeen seen(3);
  const bool first_is_high[] = {true, true, false};
  for (std::size_t s = 0; s < 3; ++s) {
    seen.Add(4, s, first_is_high[s]);
    seen.Add(7, s, !first_is_high[s]);
  }
  EXPECT_NEAR(seen.LogLike(), std::log(1.0 / 24) + std::log(3.0 / 8), 1e-9);
  seen.Clear();
  EXPECT_EQ(seen.LogLike(), 0);
}

}  // namespace
}  // namespace drycrank::diagnose
