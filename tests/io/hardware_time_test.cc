// SPDX-License-Identifier: Apache-2.0
#include "io/hardware_time.h"

#include <gtest/gtest.h>

#include <algorithm>

namespace drycrank::io {
namespace {

// The device's clock began 7 s after ours. Interrupts take 20 us, and 300 us now and then.
TEST(HardwareTime, LateInterruptsAreTakenOff) {
  HardwareTime time;
  constexpr TimeNs kOrigin = 7 * kNsPerS;
  EXPECT_EQ(time.EarlierBy(kOrigin + 1'000'000 + 20'000, 1'000'000), 0);
  EXPECT_EQ(time.EarlierBy(kOrigin + 2'000'000 + 320'000, 2'000'000), 300'000);
  EXPECT_EQ(time.EarlierBy(kOrigin + 3'000'000 + 20'000, 3'000'000), 0);
}

// 100 ppm slow: in 60 s it falls 6 ms behind. A span ends with the first frame after 1 s, so at
// worst 2 x 1.01 s x 100 ppm = 202 us.
TEST(HardwareTime, ClocksThatDriftApartAreFollowed) {
  HardwareTime time;
  TimeNs worst_ns = 0;
  for (TimeNs t_ns = 0; t_ns < 60 * kNsPerS; t_ns += 10 * kNsPerMs) {
    worst_ns = std::max(worst_ns, time.EarlierBy(t_ns, t_ns - t_ns / 10'000));
  }
  EXPECT_LE(worst_ns, 202'000);
  EXPECT_GT(worst_ns, 50'000);
}

TEST(HardwareTime, AClockThatIsSetAnewIsTakenAnew) {
  HardwareTime time;
  time.EarlierBy(100 * kNsPerS, 90 * kNsPerS);
  EXPECT_EQ(time.EarlierBy(101 * kNsPerS, 1 * kNsPerS), 0);
  EXPECT_EQ(time.EarlierBy(102 * kNsPerS, 2 * kNsPerS), 0);
}

}  // namespace
}  // namespace drycrank::io
