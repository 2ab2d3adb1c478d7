// SPDX-License-Identifier: Apache-2.0
#include "sweep/gone_again.h"

#include <gtest/gtest.h>

#include <vector>

#include "types/nth.h"

namespace drycrank::sweep {
namespace {

// Measured one after another; how often is counted.
struct Measured {
  std::vector<std::optional<double>> values;
  int count = 0, again = 0;
  bool comes_back = true;

  std::optional<double> Of(double must_s) {
    return GoneMeasured(
        must_s, [&] { return Nth(values, count++); },
        [&] {
          ++again;
          return comes_back;
        });
  }
};

TEST(GoneAgain, WhatIsAsItMustBeIsMeasuredOnce) {
  Measured right{{0.7}};
  EXPECT_EQ(right.Of(0.7), 0.7);
  EXPECT_EQ(right.count, 1);
  EXPECT_EQ(right.again, 0);
}

// A computer that was busy once, or twice.
TEST(GoneAgain, WhatWasLateIsMeasuredAgain) {
  EXPECT_EQ((Measured{{0.8, 0.7}}.Of(0.7)), 0.7);
  EXPECT_EQ((Measured{{0.6, 0.8, 0.7}}.Of(0.7)), 0.7);
}

TEST(GoneAgain, WhatIsOtherwiseEachTimeIsOtherwise) {
  Measured wrong{{1.0, 1.2, 1.1}};
  EXPECT_EQ(wrong.Of(0.7), 1.1);
  EXPECT_EQ(wrong.count, 3);
  Measured silent{{1.0}};
  silent.comes_back = false;
  EXPECT_EQ(silent.Of(0.7), 1.0);
  Measured never{{std::nullopt}};
  EXPECT_EQ(never.Of(0.7), std::nullopt);
  EXPECT_EQ(never.count, 1);
}

}  // namespace
}  // namespace drycrank::sweep
