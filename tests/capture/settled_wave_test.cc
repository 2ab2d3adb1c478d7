// SPDX-License-Identifier: Apache-2.0
#include "capture/settled_wave.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace drycrank::capture {
namespace {

// sin(x) + d lies above rest for 1/2 + asin(d) / pi of each wave, from x = -asin(d) to pi +
// asin(d); behind a capacitor d sinks as exp(-t / 80 ms). Waves of 1 ms.
std::vector<SeenChange> Sinking(double first_d) {
  std::vector<SeenChange> changes;
  for (int wave = 0; wave < 1000; ++wave) {
    const double begin_ns = wave * 1e6, d = first_d * std::exp(-begin_ns / 80e6);
    const double early_ns = std::asin(d) / (2 * std::numbers::pi) * 1e6;
    changes.push_back({begin_ns - early_ns, true});
    changes.push_back({begin_ns + 0.5e6 + early_ns, false});
  }
  return changes;
}

// 0.06 more than half is asin(d) = 0.06 pi, d = 0.187: after 80 ms * ln(0.9 / 0.187) = 126 ms.
TEST(SettledWave, IsOverOnceAWaveIsAsLongAboveRestAsBelow) {
  EXPECT_NEAR(SettledFromNs(Sinking(0.9)), 126e6, 6e6);
  EXPECT_NEAR(SettledFromNs(Sinking(-0.9)), 126e6, 6e6);
}

TEST(SettledWave, OfAWaveThatBeginsAtRestIsNone) {
  EXPECT_EQ(SettledFromNs(Sinking(0)), 0);
  EXPECT_EQ(SettledFromNs({}), 0);
}

}  // namespace
}  // namespace drycrank::capture
