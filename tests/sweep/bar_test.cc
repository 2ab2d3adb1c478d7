// SPDX-License-Identifier: Apache-2.0
//
// A bar worked by hand: bytes 2 and 3 are an oil pressure of 0.1 kPa, 0 to 6553.5 kPa; the bar has 20
// segments from 0 to 1000 kPa, 50 kPa each.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <functional>

#include "sweep/compare_shown.h"
#include "sweep/person.h"
#include "sweep/sweep.h"
#include "sweep/two_witnesses.h"
#include "sweep/where_not_so.h"
#include "sweep/which_setting.h"
#include "tests/sweep/small_bench.h"

namespace drycrank::sweep {
namespace {

using profile::SegmentLights;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

class BarSweep : public testing::Test {
 protected:
  BarSweep() {
    profile::Gauge bar = SmallGauge("oil_bar", "oil", "kPa", 600);
    bar.bar = profile::Bar{0, 1000, 20};
    bar.warn_above = 800;
    bar.hysteresis = 50;
    bar.lamp = "red";
    bench_.display->gauges.push_back(bar);
    bench_.readouts = RequiredReadouts(bench_);
  }
  profile::Bar& Set() { return *bench_.display->gauges[3].bar; }
  WhatItShowed Showed() { return SweepStandin(bench_, 1); }
  std::string TextAt(double kpa, Step step = Step::kUp) {
    for (const ShownFact& f : Showed().facts) {
      if (f.readout == "oil_bar" && f.step == step && f.input == kpa) return f.shown.text;
    }
    return "not asked";
  }
  // The first setting that explains what the display shows with this edit.
  std::string Named(const std::function<void(profile::Gauge&)>& edit) {
    profile::Bench wrong = bench_;
    edit(wrong.display->gauges[3]);
    const Explained explained = WhichSetting(bench_, SweepStandin(wrong, 1));
    if (explained.by.empty()) return "nothing";
    const Edit& first = explained.by.front();
    return first.setting + ": " + first.is + " -> " + first.becomes;
  }
  profile::Bench bench_ = SmallBench();
};

std::vector<std::string> Sentences(const WhatItShowed& a, const WhatItShowed& b) {
  std::vector<std::string> all;
  for (const ShownChange& c : Compare(a, b).changes) all.push_back(c.readout + ": " + c.sentence);
  return all;
}

// The first lights at 50, the eleventh at 550, the last at 1000; both sides of it are asked, up and down.
TEST_F(BarSweep, IsAskedAtItsEndsBeyondThemAndAroundAStepInTheMiddle) {
  EXPECT_EQ(TextAt(0), "0 of 20");
  EXPECT_EQ(TextAt(49.9), "0 of 20");
  EXPECT_EQ(TextAt(50), "1 of 20");
  EXPECT_EQ(TextAt(499.9), "9 of 20");
  EXPECT_EQ(TextAt(500), "10 of 20");
  EXPECT_EQ(TextAt(549.9, Step::kDown), "10 of 20");
  EXPECT_EQ(TextAt(550, Step::kDown), "11 of 20");
  EXPECT_EQ(TextAt(999.9), "19 of 20");
  EXPECT_EQ(TextAt(1000), "20 of 20");
  EXPECT_EQ(TextAt(6553.5), "20 of 20");
}

// Half: 50 * (10 - 0.5) = 475. Begun: the tenth begins above 450.
TEST_F(BarSweep, ASegmentLightsWhereItWasSetTo) {
  for (auto* bar : {&Set(), &*bench_.readouts[3].bar}) bar->lights = SegmentLights::kHalf;
  EXPECT_EQ(TextAt(474.9), "9 of 20");
  EXPECT_EQ(TextAt(475), "10 of 20");
  for (auto* bar : {&Set(), &*bench_.readouts[3].bar}) bar->lights = SegmentLights::kBegun;
  EXPECT_EQ(TextAt(450), "9 of 20");
  EXPECT_EQ(TextAt(450.1), "10 of 20");
  EXPECT_EQ(TextAt(0.1), "1 of 20");
}

TEST_F(BarSweep, ItsLimitIsMeasuredAsThatOfANumber) {
  const auto facts = Showed().facts;
  EXPECT_TRUE(std::ranges::any_of(facts, [](const ShownFact& f) {
    return f.readout == "oil_bar" && f.step == Step::kWarnsAbove && f.input == 800;
  }));
}

// 750.1 kPa: of 1000 kPa 15.002 segments, of 1500 kPa 10.001.
TEST_F(BarSweep, WhatChangedIsOneSentence) {
  const WhatItShowed was = Showed();
  Set().high = 1500;
  EXPECT_THAT(Sentences(was, Showed()),
              ElementsAre(HasSubstr("oil_bar: now shows 10 of 20 at 750.1, was 15 of 20")));
}

TEST_F(BarSweep, TheSettingIsNamed) {
  EXPECT_EQ(Named([](auto& g) { g.bar->high = 900; }), "bar.high of gauge oil_bar: 1000 -> 900");
  EXPECT_EQ(Named([](auto& g) { g.bar->low = 100; }), "bar.low of gauge oil_bar: 0 -> 100");
  EXPECT_EQ(Named([](auto& g) { g.bar->segments = 10; }), "bar.segments of gauge oil_bar: 20 -> 10");
  EXPECT_EQ(Named([](auto& g) { g.bar->lights = SegmentLights::kHalf; }),
            "bar.lights of gauge oil_bar: filled -> half");
  EXPECT_EQ(Named([](auto& g) { g.bar.reset(); }), "bar of gauge oil_bar: {low: 0, high: 1000, segments: 20} -> none");
}

// A bar on the display where a number has been written down as set.
TEST_F(BarSweep, ABarInPlaceOfANumberIsNamed) {
  bench_.readouts[3].bar->lights = SegmentLights::kHalf;
  Set().lights = SegmentLights::kHalf;
  profile::Bench wrong = bench_;
  bench_.display->gauges[3].bar.reset();
  const Explained explained = WhichSetting(bench_, SweepStandin(wrong, 1));
  ASSERT_FALSE(explained.by.empty());
  EXPECT_EQ(explained.by.front().setting, "bar of gauge oil_bar");
  EXPECT_EQ(explained.by.front().is, "none");
  EXPECT_EQ(explained.by.front().becomes, "{low: 0, high: 1000, segments: 20, lights: half}");
}

// 800 kPa is quiet at question 2: 16 of 20.
TEST_F(BarSweep, APersonCountsWhatIsLitAndNotAllThereAre) {
  const auto seen = [&](const char* reading) {
    const PersonSaw saw = TakeReadings(bench_, {{2, 1, "oil_bar", reading, "", {}}});
    EXPECT_EQ(saw.facts.size(), 1U);
    return saw.facts == saw.required;
  };
  EXPECT_TRUE(seen("16"));
  EXPECT_TRUE(seen("16 of 20"));
  EXPECT_FALSE(seen("15"));
  EXPECT_FALSE(seen("16 of 10"));
}

// Ends and middle: 7/16 of 0 to 1000 kPa are 437.5 kPa.
TEST_F(BarSweep, APersonIsAskedBetweenItsEnds) {
  const profile::Readout& bar = bench_.readouts[3];
  EXPECT_EQ(AskedAt(bench_, bar, 1), 437.5);
  EXPECT_EQ(AskedAt(bench_, bar, kLowQuestion), 0);
  EXPECT_EQ(AskedAt(bench_, bar, kHighQuestion), 1000);
}

// An echo tells how many are lit, and not how many there are.
TEST_F(BarSweep, AnEchoTellsHowManyAreLit) {
  profile::Message told;
  told.name = "told";
  told.sender = profile::Sender::kDisplay;
  told.signals = {SmallSignal("lit", 0, 8, 1, 0, ""), SmallSignal("state", 8, 8, 1, 0, ""),
                  SmallSignal("unit", 16, 8, 1, 0, "")};
  told.signals[0].carries = "oil_bar.shown";
  told.signals[1].carries = "oil_bar.state";
  told.signals[2].carries = "oil_bar.unit";
  told.signals[2].values = {{3, "kPa"}};  // its place in UnitCodes()
  bench_.buses[0].messages.push_back(told);
  const WhatItShowed by_standin = Showed();
  const auto only_bar = [](WhatItShowed showed) {
    std::erase_if(showed.facts, [](const ShownFact& f) { return f.readout != "oil_bar"; });
    return showed;
  };
  WhatItShowed echo = only_bar(SweepStandin(bench_, 1, true, false));
  EXPECT_TRUE(std::ranges::any_of(
      echo.facts, [](const ShownFact& f) { return f.input == 550 && f.shown.text == "11"; }));
  EXPECT_THAT(Sentences(only_bar(by_standin), echo), IsEmpty());
  Set().high = 900;
  EXPECT_THAT(Sentences(only_bar(by_standin), only_bar(SweepStandin(bench_, 1, true, false))),
              Contains(HasSubstr("oil_bar: now shows")));
}

ShownFact LitAt(double input, const char* text) {
  return {"oil_bar", Step::kUp, input, {1, text, "kPa", "ok", ""}};
}
WhatItShowed By(const char* witness, const char* text) {
  WhatItShowed showed;
  showed.by.witness = witness;
  showed.facts = {LitAt(0, "0 of 20"), LitAt(437.5, text)};
  return showed;
}

// Accepted, or compared: whoever counted what is lit has not counted what there is.
TEST(BarCounted, AloneByAPersonIsTheSameBar) {
  for (const char* other : {kByStandin, "a person: B. Fitter", "a person"}) {
    EXPECT_THAT(Sentences(By(other, "8 of 20"), By("a person", "8")), IsEmpty()) << other;
    EXPECT_THAT(Sentences(By("a person", "8"), By(other, "8 of 20")), IsEmpty()) << other;
    EXPECT_EQ(Compare(By(other, "8 of 20"), By("a person", "8")).points_identical, 2U) << other;
  }
}

TEST(BarCounted, AnotherCountIsAnotherBar) {
  EXPECT_THAT(Sentences(By(kByStandin, "8 of 20"), By("a person", "9")),
              ElementsAre(HasSubstr("now shows 9 at 437.5, was 8 of 20")));
  EXPECT_THAT(Sentences(By("a person", "9"), By("a person", "8 of 20")),
              ElementsAre(HasSubstr("now shows 8 of 20 at 437.5, was 9")));
  EXPECT_THAT(Sentences(By(kByStandin, "8"), By("a person", "8 of 20")),
              ElementsAre(HasSubstr("now shows 8 of 20 at 437.5, was 8")))
      << "the stand-in shows a number";
  EXPECT_THAT(Sentences(By("a person", "8 of 10"), By("a person", "8 of 20")),
              ElementsAre(HasSubstr("now shows 8 of 20 at 437.5, was 8 of 10")));
}

// Lines that were right when they were accepted are not accused when others are wrong.
TEST(BarCounted, IsNotAccusedWhereItWasAccepted) {
  WhatItShowed accepted = By("a person", "9");
  accepted.facts[0].shown.text = "0";
  const WhatItShowed required = By("a person", "8 of 20");
  EXPECT_THAT(WhereNotSo("accepted.csv", accepted, required, {}, Compare(accepted, required)),
              ElementsAre(HasSubstr("437.5: text '9'")));
}

TEST(BarText, OnlyCountsAreABar) {
  EXPECT_EQ(LitOf("12 of 20"), "12");
  EXPECT_TRUE(IsBar("12 of 20"));
  for (const char* text : {"12", "one of 20", "12 of", "", "---", "12 of 2.5"}) {
    EXPECT_FALSE(IsBar(text)) << text;
    EXPECT_EQ(LitOf(text), text);
  }
}

}  // namespace
}  // namespace drycrank::sweep
