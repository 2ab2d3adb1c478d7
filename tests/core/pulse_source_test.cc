// SPDX-License-Identifier: Apache-2.0
#include "core/pulse_source.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <vector>

#include "engine/motion.h"
#include "trigger/trigger_stream.h"
#include "types/time.h"

namespace drycrank::core {
namespace {

using testing::ElementsAre;

class PulseSourceTest : public testing::Test {
 protected:
  ChannelSetting& Setting(int c) { return source_.channel(c).setting; }
  void Even(int c, int teeth, int missing, int turns = 1) {
    Setting(c) = {.teeth = teeth, .missing = missing, .turns = turns};
    source_.channel(c).SetEven();
    source_.PlaceAgain(now_, c);
  }
  void Turn(int rpm, int rpm_per_s = 0) { source_.Turn(now_, 1000 * rpm, 1000 * rpm_per_s); }
  std::vector<Pulse> Until(int64_t t) {
    std::vector<Pulse> pulses;
    Pulse pulse;
    while (source_.Next(t, pulse)) pulses.push_back(pulse);
    now_ = t;
    return pulses;
  }
  static std::vector<int64_t> TimesOf(const std::vector<Pulse>& pulses) {
    std::vector<int64_t> times;
    for (const Pulse& pulse : pulses) times.push_back(pulse.t);
    return times;
  }

  PulseSource source_;
  int64_t now_ = 0;
};

constexpr int64_t kMs = 1'000'000;

// 60 r/min is a turn in 1 s; of four places 250 ms, half of each metal.
TEST_F(PulseSourceTest, AnEvenWheelAtOneTurnASecond) {
  Even(0, 4, 1);
  Turn(60);
  EXPECT_THAT(TimesOf(Until(1001 * kMs)),
              ElementsAre(0, 125 * kMs, 250 * kMs, 375 * kMs, 500 * kMs, 625 * kMs, 1000 * kMs));
}

TEST_F(PulseSourceTest, ACamTurnsHalfAsFast) {
  Even(1, 1, 0, 2);
  Turn(60);
  EXPECT_THAT(TimesOf(Until(4001 * kMs)),
              ElementsAre(0, 1000 * kMs, 2000 * kMs, 3000 * kMs, 4000 * kMs));
}

// 6,000 r/min for a day are 8,640,000 turns, and the last edge is where the first was, to the ns.
TEST_F(PulseSourceTest, ADayLaterNothingHasAddedUp) {
  Even(0, 1, 0);
  Turn(6000);
  const int64_t day = 86'400'000 * kMs;
  Pulse pulse;
  int64_t edges = 0, last = -1;
  while (source_.Next(day + 1, pulse)) {
    ++edges;
    last = pulse.t;
  }
  EXPECT_EQ(last, day);
  EXPECT_EQ(edges, 2 * 8'640'000 + 1);
}

// From rest at 600 r/min a second: 5 t^2 turns after t s, so the edge at 1.25 turns is met after 0.5 s.
TEST_F(PulseSourceTest, AClimbFromRest) {
  Even(0, 4, 0);
  Turn(600, 600);
  const auto times = TimesOf(Until(501 * kMs));
  EXPECT_EQ(times.back(), 500 * kMs);
  EXPECT_EQ(source_.SpeedNow(500 * kMs), 300'000);
}

// By 10 degrees a step to and fro on a 36 wheel: an edge is a count, not an angle.
TEST_F(PulseSourceTest, AStepOfTheAdvanceLosesAndRepeatsNothing) {
  Even(1, 36, 0, 2);
  Turn(3000);
  std::vector<Pulse> all;
  for (int step = 0; step < 100; ++step) {
    Setting(1).advance = step % 2 * 50'000'000;
    source_.TimeAgain(now_);
    for (const Pulse& pulse : Until(now_ + 7 * kMs)) all.push_back(pulse);
  }
  ASSERT_GT(all.size(), 1200u);
  for (std::size_t i = 1; i < all.size(); ++i) {
    EXPECT_NE(all[i].level, all[i - 1].level);
    EXPECT_GE(all[i].t, all[i - 1].t);
  }
  // 35 turns in 700 ms are 17.5 of the cam, 72 edges each; at most those of 50 degrees beside.
  EXPECT_NEAR(static_cast<double>(all.size()), 17.5 * 72, 5 + 1);
}

TEST_F(PulseSourceTest, ABrokenToothIsTwoEdges) {
  Even(0, 36, 1);
  Turn(600);
  const std::size_t whole = Until(100 * kMs).size();
  Setting(0).gone[0] = 1 << 4;
  EXPECT_EQ(Until(200 * kMs).size(), whole - 2);
}

TEST_F(PulseSourceTest, AFaultyChannelGivesNoEdges) {
  Even(0, 36, 1);
  Turn(600);
  Setting(0).fault = static_cast<int32_t>(Fault::kHigh);
  EXPECT_TRUE(Until(100 * kMs).empty());
  EXPECT_TRUE(source_.LevelNow(0));
  Setting(0).fault = static_cast<int32_t>(Fault::kNone);
  EXPECT_EQ(Until(200 * kMs).size(), 70u);
}

// The program's own synthesis, in closed forms of angle: 12 wheels, held and climbing. The core is asked
// for 100 ns; both round to a ns.
TEST_F(PulseSourceTest, TheSynthesisGivesTheSameEdges) {
  const int teeth[] = {60, 36, 24, 12, 44, 4};
  for (int w = 0; w < 12; ++w) {
    SCOPED_TRACE(w);
    source_ = {};
    now_ = 0;
    const int places = teeth[w % 6], missing = w % 3 + (places > 4), turns = w % 2 + 1;
    TurningWheel wheel;
    wheel.turn_deg = 360.0 * turns;
    wheel.offset_deg = 1;  // what is met just at the start, one of them leaves out
    for (int i = 0; i < places - missing % places; ++i) {
      wheel.teeth.push_back({360.0 * i / places, 360.0 * (i + 0.5) / places});
    }
    trigger::TriggerStream stream({&wheel, 1});
    engine::Motion motion;
    Segment climb{
        .kind = SegmentKind::kRamp, .speed_rpm = 0, .to_rpm = 900.0 + 700 * w, .duration_s = 2};
    motion.Begin(0, climb);
    stream.Restart(0, motion);
    Even(0, places, missing % places, turns);
    Setting(0).offset = 1'000'000;
    source_.PlaceAgain(0, 0);
    Turn(900 + 700 * w, (900 + 700 * w) / 2);
    std::size_t edges = 0;
    int64_t worst = 0;
    for (const Pulse& pulse : Until(4000 * kMs)) {
      const trigger::TriggerEvent event = stream.Take(motion);
      ASSERT_EQ(event.metal, pulse.level);
      worst = std::max(worst, std::abs(event.t_ns - pulse.t));
      ++edges;
    }
    EXPECT_GT(edges, 200u);
    EXPECT_LE(worst, 2);
  }
}

}  // namespace
}  // namespace drycrank::core
