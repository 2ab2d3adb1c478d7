// SPDX-License-Identifier: Apache-2.0
#include "io/real_clock.h"

#include <gtest/gtest.h>
#include <time.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <vector>

namespace drycrank::io {
namespace {

// Median lateness of waiting 50 times for an instant 1 ms ahead.
template <class Now, class WaitUntil>
TimeNs MedianLatenessNs(Now now, WaitUntil wait_until) {
  std::vector<TimeNs> late_ns;
  TimeNs due_ns = now();
  for (int i = 0; i < 50; ++i) {
    due_ns += kNsPerMs;
    wait_until(due_ns);
    late_ns.push_back(now() - due_ns);
  }
  std::nth_element(late_ns.begin(), late_ns.begin() + 25, late_ns.end());
  return late_ns[25];
}

TimeNs SystemNow() {
  timespec now{};
  clock_gettime(CLOCK_MONOTONIC, &now);
  return now.tv_sec * kNsPerS + now.tv_nsec;
}

TEST(RealClock, StartsAtZeroAndRuns) {
  RealClock clock;
  const TimeNs first_ns = clock.Now();
  EXPECT_GE(first_ns, 0);
  clock.WaitUntil(first_ns + 2 * kNsPerMs, {});
  EXPECT_GE(clock.Now(), first_ns + 2 * kNsPerMs);
  clock.Start();
  EXPECT_LT(clock.Now(), first_ns + 2 * kNsPerMs);
}

TEST(RealClock, NeverReturnsBeforeTheInstant) {
  RealClock clock;
  for (TimeNs step_ns = 1; step_ns < 4 * kNsPerMs; step_ns *= 3) {
    const TimeNs due_ns = clock.Now() + step_ns;
    clock.WaitUntil(due_ns, {});
    EXPECT_GE(clock.Now(), due_ns);
  }
}

// The floor is clock_nanosleep(2) to an absolute instant, measured in the same run.
TEST(RealClock, IsNotMuchLaterThanTheKernelsOwnSleep) {
  RealClock clock;
  const TimeNs floor_ns = MedianLatenessNs(SystemNow, [](TimeNs due_ns) {
    const timespec due{due_ns / kNsPerS, due_ns % kNsPerS};
    clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &due, nullptr);
  });
  const TimeNs ours_ns = MedianLatenessNs([&] { return clock.Now(); },
                                          [&](TimeNs due_ns) { clock.WaitUntil(due_ns, {}); });
  EXPECT_LT(ours_ns, 20 * std::max<TimeNs>(floor_ns, 10 * kNsPerUs));
}

TEST(RealClock, PastInstantDoesNotWait) {
  RealClock clock;
  clock.WaitUntil(clock.Now() - 1, {});
  clock.WaitUntil(-kNsPerS, {});
}

TEST(RealClock, ReadableDescriptorEndsTheWait) {
  std::array<int, 2> ends{};
  ASSERT_EQ(pipe(ends.data()), 0);
  ASSERT_EQ(write(ends[1], "x", 1), 1);
  RealClock clock;
  const std::array<int, 2> descriptors = {-1, ends[0]};  // -1: an in-process bus
  clock.WaitUntil(kNever, descriptors);                  // hangs if the descriptor is not looked at
  close(ends[0]);
  close(ends[1]);
}

}  // namespace
}  // namespace drycrank::io
