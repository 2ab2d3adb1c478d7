// SPDX-License-Identifier: Apache-2.0
//
// Two gauges that are alike, both smoothed: byte 0 and byte 1, raw - 40 degC, quiet up to 112.
#include "sweep/together.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "sweep/standin_screen.h"
#include "sweep/sweep.h"
#include "sweep/which_setting.h"
#include "tests/sweep/small_bench.h"

namespace drycrank::sweep {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

const SweepWish kNotSwitched{1, false};

profile::Bench TwoAlike() {
  profile::Bench bench = SmallBench();
  profile::Message& message = bench.buses[0].messages[0];
  message.signals = {SmallSignal("left", 0, 8, 1, -40, "degC"),
                     SmallSignal("right", 8, 8, 1, -40, "degC")};
  bench.display->layouts = {message};
  bench.display->gauges.clear();
  for (const char* name : {"left", "right"}) {
    profile::Gauge gauge = SmallGauge(name, name, "degC", 600);
    gauge.warn_above = 112;
    gauge.hysteresis = 4;
    bench.display->gauges.push_back(gauge);
  }
  bench.readouts = RequiredReadouts(bench);
  return bench;
}

// Both smoothed; each turn of looks is counted, of one or of both.
class Counted : public StandinScreen {
 public:
  explicit Counted(const profile::Bench& bench) : StandinScreen(bench, false, {"left", "right"}) {}
  std::vector<std::optional<Shown>> LookAtEach(const std::vector<Wanted>& wanted) override {
    ++turns;
    return StandinScreen::LookAtEach(wanted);
  }
  int turns = 0;
};

struct Done {
  std::vector<ShownFact> facts;
  int turns = 0;
};
Done SweptWith(const profile::Bench& bench, const std::vector<profile::Readout>& readouts) {
  Counted screen(bench);
  Done done{Sweep(bench, readouts, kNotSwitched, screen).facts, 0};
  done.turns = screen.turns;
  return done;
}

// One is on its way behind the other: a turn more, and the four before.
TEST(Together, TwoTakeHardlyMoreTurnsThanOneAndShowTheSame) {
  const profile::Bench bench = TwoAlike();
  const Done left = SweptWith(bench, {bench.readouts[0]}),
             right = SweptWith(bench, {bench.readouts[1]}), both = SweptWith(bench, bench.readouts);
  EXPECT_GT(left.turns, 40);
  EXPECT_LE(both.turns, left.turns + 5);
  std::vector<ShownFact> apart = left.facts;
  apart.insert(apart.end(), right.facts.begin(), right.facts.end());
  Sort(apart);
  EXPECT_EQ(both.facts, apart);
}

// Nearly every point shows what the other was sent, and that is not the same.
TEST(Together, NeighboursThatAreMixedUpAreFoundAndNamed) {
  const profile::Bench bench = TwoAlike();
  profile::Bench mixed = bench;
  mixed.display->gauges[0].signal = "right";
  const WhatItShowed right{{}, SweptWith(bench, bench.readouts).facts};
  WhatItShowed wrong{{}, SweptWith(mixed, bench.readouts).facts};
  std::size_t differ = 0, points = 0;
  for (std::size_t i = 0; i < right.facts.size(); ++i) {
    const ShownFact& f = right.facts[i];
    if (f.readout != "left" || (f.step != Step::kUp && f.step != Step::kDown)) continue;
    ++points;
    differ += f.shown.text != wrong.facts[i].shown.text;
  }
  EXPECT_GT(differ, points * 8 / 10);
  wrong.by.seed = "1";
  wrong.by.smoothed = {"left", "right"};
  const Explained named = WhichSetting(mixed, wrong);
  EXPECT_THAT(named.differing, IsEmpty()) << "a display set like that shows just this";
  const Explained from_right = WhichSetting(bench, wrong);
  EXPECT_THAT(from_right.differing, ElementsAre("left"));
  EXPECT_TRUE(std::ranges::any_of(from_right.by, [](const Edit& edit) {
    return edit.setting == "signal of gauge left" && edit.becomes == "engine.right";
  }));
}

// A key, a lamp that stays lit and what is kept touch others; one signal cannot be at two places.
TEST(Together, WhatTouchesAnotherIsMovedByItself) {
  const profile::Bench bench = TwoAlike();
  const auto names = [&](const auto& edit) {
    std::vector<profile::Readout> readouts = bench.readouts;
    edit(readouts[0]);
    Counted screen(bench);
    return MovedTogether(bench, readouts, screen).size();
  };
  EXPECT_EQ(names([](profile::Readout&) {}), 2u);
  EXPECT_EQ(names([](profile::Readout& r) { r.lamp_latches = true; }), 0u);
  EXPECT_EQ(names([](profile::Readout& r) { r.acknowledged_by = "engine.ack"; }), 0u);
  EXPECT_EQ(names([](profile::Readout& r) { r.keeps = profile::Keeps::kHighest; }), 0u);
  EXPECT_EQ(names([](profile::Readout& r) { r.signal = "right"; }), 0u);
}

}  // namespace
}  // namespace drycrank::sweep
