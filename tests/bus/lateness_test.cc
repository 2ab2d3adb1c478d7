// SPDX-License-Identifier: Apache-2.0
#include "bus/lateness.h"

#include <gtest/gtest.h>

namespace drycrank::bus {
namespace {

TEST(Lateness, QuantilesAreWithinAStep) {
  Lateness late;
  for (TimeNs us = 1; us <= 1000; ++us) late.Add(us * kNsPerUs);
  EXPECT_EQ(late.count(), 1000u);
  EXPECT_EQ(late.worst_ns(), kNsPerMs);
  for (const double share : {0.5, 0.99, 0.999}) {
    const double exact_ns = share * 1e6;
    EXPECT_GE(static_cast<double>(late.Quantile(share)), exact_ns) << share;
    EXPECT_LE(static_cast<double>(late.Quantile(share)), exact_ns * 1.032) << share;
  }
  EXPECT_EQ(late.Quantile(1), kNsPerMs);
}

TEST(Lateness, SmallOnesAreExact) {
  Lateness late;
  late.Add(7);
  late.Add(-5);  // early
  EXPECT_EQ(late.Quantile(0.5), 0);
  EXPECT_EQ(late.Quantile(0.9), 7);
}

TEST(Lateness, OfNothingIsZeroAndHugeIsHeld) {
  Lateness late;
  EXPECT_EQ(late.Quantile(0.999), 0);
  late.Add(kNever);
  EXPECT_EQ(late.worst_ns(), kNever);
  EXPECT_GT(late.Quantile(0.5), 1000 * kNsPerS);
}

}  // namespace
}  // namespace drycrank::bus
