// SPDX-License-Identifier: Apache-2.0
//
// Where a value lies on the edge between two digits, or segments, and a display smooths it. Bytes 2 and
// 3 are 0.5 kPa a step, 12 bits: 0 to 2047.5 kPa, shown without decimals; quiet from 120 kPa on.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "sweep/either_side.h"
#include "sweep/readout_sweep.h"
#include "sweep/which_setting.h"
#include "tests/sweep/small_bench.h"

namespace drycrank::sweep {
namespace {

using profile::SegmentLights;
using testing::ElementsAre;
using testing::IsEmpty;

class AtAnEdge : public testing::Test {
 protected:
  AtAnEdge() {
    profile::Message& message = bench_.buses[0].messages[0];
    message.signals = {SmallSignal("p", 16, 12, 0.5, 0, "kPa"),
                       SmallSignal("part", 32, 8, 0.5, 0, "%")};
    message.signals[1].max = 100;
    bench_.display->layouts = {message};
    profile::Gauge p = SmallGauge("p", "p", "kPa", 600), part = SmallGauge("part", "part", "%", 600);
    p.warn_below = 100;
    p.hysteresis = 20;
    p.lamp = "oil";
    part.bar = profile::Bar{0, 100, 20};
    bench_.display->gauges = {p, part};
    bench_.readouts = RequiredReadouts(bench_);
  }
  double QuietPart(SegmentLights lights) {
    bench_.readouts[1].bar->lights = lights;
    return QuietValue(bench_, bench_.readouts[1]);
  }
  // A display that smooths, and never quite arrives.
  static WhatItShowed Smoothed(const profile::Bench& bench) {
    return SweepStandin(bench, 1, false, false, {"p", "part"});
  }
  static ShownFact& At(WhatItShowed& showed, const char* readout, double input, Step step) {
    return *std::ranges::find_if(showed.facts, [&](const ShownFact& f) {
      return f.readout == readout && f.input == input && f.step == step;
    });
  }
  profile::Bench bench_ = SmallBench();
};

// Steps 240 to 4095: the middle is 2167, 1083.5 kPa.
TEST_F(AtAnEdge, NoReadoutRestsThere) {
  EXPECT_EQ(QuietValue(bench_, bench_.readouts[0]), 1084);
  bench_.readouts[0].decimals = 1;
  EXPECT_EQ(QuietValue(bench_, bench_.readouts[0]), 1083.5);
}

// The middle is 50 %, ten segments of 5 %: one is just filled, or the next about to begin.
TEST_F(AtAnEdge, NoBarRestsThere) {
  EXPECT_EQ(QuietPart(SegmentLights::kFilled), 50.5);
  EXPECT_EQ(QuietPart(SegmentLights::kBegun), 49.5);
  EXPECT_EQ(QuietPart(SegmentLights::kHalf), 50);
}

// Every step lies on one: 0.5, 1.5, 2.5 ...
TEST_F(AtAnEdge, ItRestsInTheMiddleWhereThereIsNoOther) {
  profile::Signal& p = bench_.buses[0].messages[0].signals[0];
  p.scale = 1;
  p.offset = 0.5;
  p.length_bits = 8;
  EXPECT_EQ(QuietValue(bench_, bench_.readouts[0]), 120.5 + 67);
}

// Upwards, 767 steps are 383.5 kPa: 384 where it snaps to its end when it is near, 383 where it never
// arrives. 50 % likewise.
TEST_F(AtAnEdge, EitherSideOfItIsRight) {
  WhatItShowed showed = Smoothed(bench_);
  EXPECT_EQ(At(showed, "p", 383.5, Step::kUp).shown.text, "383");
  EXPECT_EQ(At(showed, "part", 50, Step::kUp).shown.text, "9 of 20");
  EXPECT_THAT(WhichSetting(bench_, showed).differing, IsEmpty());
  At(showed, "p", 383.5, Step::kUp).shown.text = "384";
  At(showed, "part", 50, Step::kUp).shown.text = "10 of 20";
  EXPECT_THAT(WhichSetting(bench_, showed).differing, IsEmpty());
  EXPECT_EQ(SweepStandinAsSeen(bench_, 1, false, false, showed).facts, showed.facts);
}

TEST_F(AtAnEdge, NothingElseIs) {
  for (const auto& [input, text] :
       {std::pair{383.5, "382"}, {383.5, "385"}, {101.0, "100"}, {101.0, "102"}}) {
    WhatItShowed showed = Smoothed(bench_);
    At(showed, "p", input, Step::kUp).shown.text = text;
    EXPECT_THAT(WhichSetting(bench_, showed).differing, ElementsAre("p")) << input << text;
  }
  WhatItShowed showed = Smoothed(bench_);
  At(showed, "p", 383.5, Step::kUp).shown.state = "warning";
  EXPECT_THAT(WhichSetting(bench_, showed).differing, ElementsAre("p"));
}

// A segment of 6 % is just filled at 6 %.
TEST_F(AtAnEdge, TheSettingIsStillNamed) {
  profile::Bench wrong = bench_;
  wrong.display->gauges[1].bar->high = 120;
  WhatItShowed showed = Smoothed(wrong);
  EXPECT_EQ(At(showed, "part", 6, Step::kUp).shown.text, "0 of 20");
  At(showed, "part", 6, Step::kUp).shown.text = "1 of 20";
  const Explained named = WhichSetting(bench_, showed);
  EXPECT_THAT(named.differing, ElementsAre("part"));
  EXPECT_TRUE(std::ranges::any_of(named.by, [](const Edit& edit) {
    return edit.setting == "bar.high of gauge part" && edit.becomes == "120";
  }));
}

}  // namespace
}  // namespace drycrank::sweep
