// SPDX-License-Identifier: Apache-2.0
#include "sweep/settling.h"

#include <gtest/gtest.h>

#include <cmath>
#include <utility>

namespace drycrank::sweep {
namespace {

// A display that smooths: after t it has come to within exp(-t / tau) of a step; told every 50 ms.
class Smoothed : public testing::Test {
 protected:
  // What was told when it was said to stand.
  std::string LookAt(double value) {
    const double from = value_;
    const double steps = std::abs(value - std::exchange(sent_, value)) * finest_;
    settling_.Sent(now_ns_, {.finest = finest_, .steps = steps});
    for (const TimeNs sent_ns = now_ns_;; now_ns_ += 50 * kNsPerMs) {
      const double passed = ToSeconds(now_ns_ - sent_ns);
      value_ = tau_s_ > 0 ? value + (from - value) * std::exp(-passed / tau_s_) : value;
      const Shown shown{.text = Plain(std::round(value_)), .state = "ok"};
      const bool moved = settling_.Told(now_ns_, shown);
      if (!moved && settling_.Stands(now_ns_)) return shown.text;
    }
  }
  double tau_s_ = 0, value_ = 0, sent_ = 0, finest_ = 1;
  TimeNs now_ns_ = 0;
  Settling settling_;
};

TEST_F(Smoothed, WhatCreepsIsWaitedForUntilItStands) {
  for (const double tau_s : {0.2, 1.0}) {
    tau_s_ = tau_s;
    settling_ = {};
    value_ = sent_ = 0;
    EXPECT_EQ(LookAt(-40), "-40") << tau_s;
    EXPECT_EQ(LookAt(215), "215") << tau_s;
    for (const int value : {107, 108, 109, 110, 111}) {
      EXPECT_EQ(LookAt(value), std::to_string(value)) << tau_s;
    }
    EXPECT_TRUE(settling_.is_smoothed());
  }
}

// By hand: with 0.2 s and a margin of at most a quarter, 100 steps come to within a hundredth of
// one in ln(10,000) = 9.2, one in ln(100) = 4.6 of these. What is told every 50 ms adds twice that.
TEST_F(Smoothed, OnceItIsKnownHowSlowlyItComesNoneWaitsLonger) {
  tau_s_ = 0.2;
  for (const double value : {-40, 215, 0, 200}) LookAt(value);
  ASSERT_TRUE(settling_.is_known());
  for (const auto& [value, taus] : {std::pair{100.0, 9.2}, {101.0, 4.6}, {102.0, 4.6}}) {
    const TimeNs begin_ns = now_ns_;
    LookAt(value);
    EXPECT_NEAR(value_, value, 0.01);
    EXPECT_GT(ToSeconds(now_ns_ - begin_ns), taus * tau_s_);
    EXPECT_LT(ToSeconds(now_ns_ - begin_ns), 1.25 * taus * tau_s_ + 0.1);
  }
}

// A number that runs at one speed to its end, 40 a second, is no low pass: it is waited for by what
// is seen.
TEST(Trend, OneThatRunsAtOneSpeedIsNotKnown) {
  Trend trend;
  for (int look = 0; look < 4; ++look) {
    trend.Begin(1);
    for (int n = 0; n <= 200; n += 2) {
      const TimeNs now_ns = n * 25 * kNsPerMs;
      trend.Told(now_ns - 50 * kNsPerMs, now_ns, n);
    }
    trend.End();
  }
  EXPECT_FALSE(trend.tau_ns());
}

// Without smoothing three looks take 0.3 s each to learn that; from then on one repetition is
// enough.
TEST_F(Smoothed, WhatStandsAtOnceIsNotWaitedForOnceThatIsKnown) {
  for (const double value : {10, 20, 30}) LookAt(value);
  EXPECT_EQ(now_ns_, 3 * 300 * kNsPerMs);
  now_ns_ = 0;
  for (const double value : {40, 50}) LookAt(value);
  EXPECT_FALSE(settling_.is_smoothed());
  EXPECT_EQ(now_ns_, 2 * 50 * kNsPerMs);
}

// 7200.25 is a quarter of a digit from where it came to: half a digit before its end the text
// stands, a hundredth of one later a limit between two steps of 0.01 may be passed.
TEST_F(Smoothed, WhereADigitIsManyStepsItIsWaitedForLonger) {
  tau_s_ = 1.0;
  finest_ = 100;
  LookAt(0);
  LookAt(200);
  EXPECT_NEAR(value_, 200, 0.005);
}

TEST_F(Smoothed, WhatNeverStandsIsTakenAfterThirtySeconds) {
  settling_.Sent(0, {});
  TimeNs now_ns = 0;
  bool stands = false;
  for (int told = 0; !stands; ++told) {
    now_ns += 50 * kNsPerMs;
    settling_.Told(now_ns, {.text = std::to_string(told)});
    stands = settling_.Stands(now_ns);
  }
  EXPECT_EQ(now_ns, 30 * kNsPerS);
  EXPECT_TRUE(settling_.is_unsteady());
}

}  // namespace
}  // namespace drycrank::sweep
