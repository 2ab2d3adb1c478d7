// SPDX-License-Identifier: Apache-2.0
#include "plant/pulse_train.h"

#include <gtest/gtest.h>

#include <vector>

namespace drycrank::plant {
namespace {

// The instants at which the level changes, with the level after each.
struct Change {
  TimeNs t_ns;
  bool low;
  friend bool operator==(const Change&, const Change&) = default;
};
std::vector<Change> Play(PulseTrain& train, double hz, double low_s, TimeNs until_ns) {
  std::vector<Change> changes;
  while (train.next_ns() < until_ns) {
    const TimeNs t_ns = train.next_ns();
    if (train.Take(hz, low_s)) changes.push_back({t_ns, train.low()});
  }
  return changes;
}

// 100 Hz, 1 ms low: the fuel composition sensor at 50 % and its coldest, common practice scale
// (tests/reference/flex_fuel.yaml: 10 ms period, duty 0.10 at 1 ms). The first period begins after one
// whole turn of the phase.
TEST(PulseTrain, GivesPeriodAndLowTime) {
  PulseTrain train;
  const std::vector<Change> expected{
      {10'000'000, true}, {11'000'000, false}, {20'000'000, true}, {21'000'000, false}};
  EXPECT_EQ(Play(train, 100, 1e-3, 30'000'000), expected);
}

TEST(PulseTrain, StandsStillAtZeroAndStartsAgain) {
  PulseTrain train;
  EXPECT_TRUE(Play(train, 0, 0, 50'000'000).empty());
  // 1 kHz from 50 ms on: periods begin at 51, 52, 53 ms.
  EXPECT_EQ(Play(train, 1000, 0.5e-3, 54'000'000).size(), 6u);
}

// From standstill 0.1 Hz is given for one look of 5 ms, then 1 kHz: the first period is over within
// 1 ms of that, not after the 10 s that it would have had.
TEST(PulseTrain, FollowsAWheelThatStartsToTurn) {
  PulseTrain train;
  train.Take(0.1, 0.5e-3);
  ASSERT_EQ(train.next_ns(), 5'000'000);
  const auto changes = Play(train, 1000, 0.5e-3, 7'000'000);
  ASSERT_FALSE(changes.empty());
  // Phase 0.1 Hz * 5 ms = 0.0005, the rest at 1 kHz takes 0.9995 ms.
  EXPECT_EQ(changes[0].t_ns, 5'999'500);
}

TEST(PulseTrain, LowTimeLongerThanThePeriodLeavesANanosecondHigh) {
  PulseTrain train;
  const auto changes = Play(train, 1000, 5e-3, 3'000'000);
  ASSERT_GE(changes.size(), 2u);
  EXPECT_EQ(changes[1].t_ns - changes[0].t_ns, 999'999);
}

}  // namespace
}  // namespace drycrank::plant
