// SPDX-License-Identifier: Apache-2.0
//
// Runs in the guest kernel, which is ours alone: the wall clock is set (clock_settime(2)) while frames wait
// in the socket and while a bus goes on. A frame's time stays between the looks before and after it.
#include <gtest/gtest.h>
#include <time.h>

#include "tests/bus/build_signal.h"
#include "tests/kernel/guest_can.h"

namespace drycrank::io {
namespace {

using bus::FrameOf;

class SteppedClock : public CanTest, public testing::WithParamInterface<int> {
 protected:
  static void SetForward(time_t seconds) {
    timespec now{};
    clock_gettime(CLOCK_REALTIME, &now);
    now.tv_sec += seconds;
    ASSERT_EQ(clock_settime(CLOCK_REALTIME, &now), 0);
  }
};

TEST_P(SteppedClock, WhatWaitedMeanwhileHasItsTime) {
  SocketCanBus here(clock_, 0, "vcan0");
  SocketCanBus there(clock_, 0, "vcan0");
  there.Send(FrameOf(0x100, false, ""));
  ASSERT_TRUE(Next(here));
  clock_.WaitUntil(clock_.Now() + 300 * kNsPerMs, {});
  const TimeNs looked_ns = clock_.Now();
  ASSERT_FALSE(here.Receive());
  there.Send(FrameOf(0x101, false, ""));
  SetForward(GetParam());
  const auto frame = Next(here);
  SetForward(-GetParam());
  ASSERT_TRUE(frame);
  EXPECT_GE(frame->t_ns, looked_ns - ReceptionTime::kLongestUnderWayNs);
  EXPECT_LE(frame->t_ns, clock_.Now());
}

INSTANTIATE_TEST_SUITE_P(Steps, SteppedClock, testing::Values(3600, -3600, 1, -1),
                         [](const auto& step) {
                           return (step.param < 0 ? "Back" : "Forward") +
                                  std::to_string(std::abs(step.param)) + "s";
                         });

}  // namespace
}  // namespace drycrank::io
