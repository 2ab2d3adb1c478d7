// SPDX-License-Identifier: Apache-2.0
#include "io/watchdog.h"

#include <gtest/gtest.h>

#include <chrono>
#include <csignal>
#include <cstdio>

namespace drycrank::io {
namespace {

// The steps of the second thread, taken here one by one.
TEST(Heartbeat, TenStepsWithoutABeatAreTooMany) {
  Heartbeat heart;
  heart.Beat();
  EXPECT_FALSE(heart.Step());  // sees the beat
  for (int step = 1; step < Heartbeat::kSteps; ++step) EXPECT_FALSE(heart.Step()) << step;
  EXPECT_TRUE(heart.Step());
}

TEST(Heartbeat, EachBeatBeginsAnew) {
  Heartbeat heart;
  for (int i = 0; i < 100; ++i) {
    if (i % Heartbeat::kSteps == 0) heart.Beat();
    EXPECT_FALSE(heart.Step()) << i;
  }
}

TEST(Heartbeat, AtRestNothingIsExpected) {
  Heartbeat heart;
  for (int i = 0; i < 100; ++i) EXPECT_FALSE(heart.Step());  // not begun
  heart.Beat();
  heart.Rest();
  for (int i = 0; i < 100; ++i) EXPECT_FALSE(heart.Step());
  heart.Beat();
  for (int i = 0; i < Heartbeat::kSteps; ++i) EXPECT_FALSE(heart.Step());
  EXPECT_TRUE(heart.Step());
}

void TurnInACircle() {
  Watchdog watchdog(std::chrono::milliseconds(50), [] { fprintf(stderr, "safe now\n"); });
  watchdog.Beat();
  for (volatile bool for_ever = true; for_ever;) {
  }
}

TEST(WatchdogDeathTest, AThreadThatTurnsInACircleEndsWithItsProcess) {
  testing::GTEST_FLAG(death_test_style) = "threadsafe";
  EXPECT_EXIT(TurnInACircle(), testing::ExitedWithCode(Watchdog::kExitCode), "safe now");
}

void HangInTheLastWords() {
  Watchdog watchdog(std::chrono::milliseconds(50), [] {
    for (volatile bool for_ever = true; for_ever;) {
    }
  });
  watchdog.Beat();
  for (volatile bool for_ever = true; for_ever;) {
  }
}

TEST(WatchdogDeathTest, LastWordsThatHangDoNotKeepItAlive) {
  testing::GTEST_FLAG(death_test_style) = "threadsafe";
  EXPECT_EXIT(HangInTheLastWords(), testing::KilledBySignal(SIGALRM), "");
}

TEST(Watchdog, EndsWithItsOwnerWithoutWaitingForItsLimit) {
  const auto begin = std::chrono::steady_clock::now();
  { Watchdog watchdog(std::chrono::hours(10), nullptr); }
  EXPECT_LT(std::chrono::steady_clock::now() - begin, std::chrono::hours(1));
}

}  // namespace
}  // namespace drycrank::io
