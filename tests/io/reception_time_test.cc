// SPDX-License-Identifier: Apache-2.0
//
// When a frame came, from its age by the wall clock, which somebody may set meanwhile (clock_settime(2)).
#include <gtest/gtest.h>

#include "io/socket.h"

namespace drycrank::io {
namespace {

constexpr TimeNs kHourNs = 3600 * kNsPerS;

class ReceptionTimeTest : public testing::Test {
 protected:
  ReceptionTimeTest() { clock_.Advance(5 * kNsPerS); }

  ManualClock clock_;
  ReceptionTime time_{clock_};
};

TEST_F(ReceptionTimeTest, IsNowLessTheAge) { EXPECT_EQ(time_.Of(2 * kNsPerMs), 4998 * kNsPerMs); }

TEST_F(ReceptionTimeTest, NeverGoesBack) {
  time_.Of(0);
  EXPECT_EQ(time_.Of(kNsPerS), 5 * kNsPerS);
}

// A quarter of a second after the last frame; nothing was there 3 ms ago.
TEST_F(ReceptionTimeTest, AClockSetForwardMakesNoFrameOld) {
  time_.Of(0);
  clock_.Advance(250 * kNsPerMs);
  time_.FoundNothing();
  clock_.Advance(3 * kNsPerMs);
  EXPECT_GE(time_.Of(kHourNs), 5240 * kNsPerMs);
}

// An interrupt may be late by milliseconds: the hardware's stamp is of before the look.
TEST_F(ReceptionTimeTest, WhatWasUnderWayKeepsItsTime) {
  time_.FoundNothing();
  clock_.Advance(kNsPerMs);
  EXPECT_EQ(time_.Of(6 * kNsPerMs), 4995 * kNsPerMs);
}

// Nobody looked for a second: frames that old may well have waited.
TEST_F(ReceptionTimeTest, WhatWaitedIsAsOldAsItIs) {
  time_.FoundNothing();
  clock_.Advance(kNsPerS);
  EXPECT_EQ(time_.Of(900 * kNsPerMs), 5100 * kNsPerMs);
}

}  // namespace
}  // namespace drycrank::io
