// SPDX-License-Identifier: Apache-2.0
//
// What must be shown against what was set, on paper: the hill-climb display mistyped in one place
// is named once, at the gauge. What no display could do is named at the readout.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profile/load.h"
#include "proofread/told.h"
#include "tests/proofread/edited_bench.h"

namespace drycrank::proofread {
namespace {

using profile::Gauge;
using profile::Readout;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

class OnPaper : public testing::Test {
 protected:
  OnPaper() {
    auto loaded = profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/hill_climb.yaml");
    bench_ = std::move(*loaded.bench);
  }
  Gauge& Set(const char* name) { return Named(bench_.display->gauges, name); }
  Readout& Must(const char* name) { return Named(bench_.readouts, name); }
  std::vector<std::string> Said() {
    Compared out;
    CompareReadouts(bench_, out);
    std::vector<std::string> said;
    for (const Diagnostic& d : out.disagreements) said.push_back(d.what);
    return said;
  }
  profile::Bench bench_;

 private:
  template <class List>
  static typename List::value_type& Named(List& list, const char* name) {
    return list[static_cast<std::size_t>(profile::IndexOf(list, name))];
  }
};

TEST_F(OnPaper, AsShippedNothingIsSaid) { EXPECT_THAT(Said(), IsEmpty()); }

TEST_F(OnPaper, EachSettingThatDiffersIsNamedOnce) {
  const auto one = [&](auto change, const char* what) {
    const profile::Bench before = bench_;
    change();
    EXPECT_THAT(Said(), ElementsAre(HasSubstr(what)));
    bench_ = before;
  };
  one([&] { Set("coolant").warn_above = 107; }, "warn_above is 107 °C; it must be 112 °C");
  one([&] { Set("coolant").hysteresis = 2; }, "the end of its warn_above is 110");
  one([&] { Set("oil_pressure").hysteresis = 5; }, "the end of its warn_below is 20");
  one([&] { Set("coolant").unit = "degF"; }, "unit is °F; it must be °C");
  one([&] { Set("manifold").decimals = 0; }, "decimals is 0; it must be 1");
  one([&] { Set("ethanol").page = 3; }, "page is 3; it must be 2");
  one([&] { Set("air").signal = "coolant"; },
      "signal is engine_temps.coolant; it must be engine_temps.air");
  one([&] { Set("coolant").lamp = ""; }, "lamp is none; it must be 'red'");
  one([&] { Set("coolant").dashes = "--"; }, "dashes is '--'; it must be '---'");
  one([&] { Set("coolant").stale_ms = 1600; }, "stale_ms is 1600 ms; it must be 1500 ms");
  one([&] { Set("throttle").max = 120; }, "max is 120 %; it must be 100 %");
  one([&] { Set("gear").values[0] = "P"; }, "the name of 0 is 'P'; it must be 'N'");
  one([&] { Set("gear").values.erase(-1); }, "the name of -1 is none; it must be 'R'");
  one([&] { std::erase_if(bench_.display->gauges, [](auto& g) { return g.name == "air"; }); },
      "the display has no gauge 'air', which must be shown");
}

// Coolant: raw 0 to 255 is -40 to 215 degC, and warns above 112 degC.
TEST_F(OnPaper, ABarThatDiffersOrCannotTellIsNamed) {
  const auto says = [&](const profile::Bar& must, const profile::Bar& set, const char* what) {
    Must("coolant").bar = must;
    Set("coolant").bar = set;
    EXPECT_THAT(Said(), ElementsAre(HasSubstr(what)));
  };
  const profile::Bar right{0, 150, 30};
  says(right, {0, 120, 30}, "bar.high is 120 °C; it must be 150 °C");
  says(right, {10, 150, 30}, "bar.low is 10 °C; it must be 0 °C");
  says(right, {0, 150, 20}, "bar.segments is 20; it must be 30");
  says(right, {0, 150, 30, profile::SegmentLights::kBegun}, "bar.lights is begun; it must be filled");
  says({0, 110, 11}, {0, 110, 11}, "warn_above 112 °C lies outside of its bar, 0 °C to 110 °C");
  says({0, 300, 30}, {0, 300, 30},
       "never has fewer than 0 or more than 21 of 30 segments lit: -40 °C to 215 °C is possible");
  says({108, 118, 10}, {108, 118, 10}, "is less than a twentieth of what is possible");
  Set("coolant").bar.reset();
  Must("coolant").bar = right;
  EXPECT_THAT(Said(), ElementsAre(HasSubstr("bar is none; it must be there")));
}

// Raw 255 is 215 degC: no coolant is hotter in this message. 400 kPa, 58 psi, is no limit below 0.
TEST_F(OnPaper, ALimitThatNoValuePassesIsNamed) {
  Must("coolant").warn_above = Set("coolant").warn_above = 215;
  Must("coolant").warn_above_ends = 211;
  EXPECT_THAT(Said(), ElementsAre(HasSubstr("warn_above 215 °C can never be passed")));
}

TEST_F(OnPaper, ALimitOutsideOfWhatIsShownIsNamed) {
  Must("road_speed").warn_above = Set("road_speed").warn_above = 320;
  EXPECT_THAT(Said(), ElementsAre(HasSubstr("lies outside of what is shown")));
}

// The coldest that the message can say is -40 degC.
TEST_F(OnPaper, AWarningThatNeverEndsIsNamed) {
  Must("coolant").warn_above_ends = -41;
  Set("coolant").hysteresis = 153;
  EXPECT_THAT(Said(), ElementsAre(HasSubstr("its warn_above warning never ends")));
}

TEST_F(OnPaper, AWarningOfWhatIsKeptNeedsAKey) {
  Must("air").keeps = Set("air").keeps = profile::Keeps::kHighest;
  EXPECT_THAT(Said(), ElementsAre(HasSubstr("the highest is kept, and no key lets go of it")));
  Must("air").acknowledged_by = Set("air").acknowledged_by = "body.ack";
  EXPECT_THAT(Said(), IsEmpty());
}

// Eight bits end at 255, and less 40 at 215.
TEST_F(OnPaper, WhatNothingBringsIsNamed) {
  Must("air").values[216] = Set("air").values[216] = "hot";
  EXPECT_THAT(Said(), ElementsAre(HasSubstr("its word 'hot' for 216 is never shown")));
  Must("air").values.clear();
  Set("air").values.clear();
  Must("air").not_available = Set("air").not_available = "n/a";
  EXPECT_THAT(Said(), ElementsAre(HasSubstr("its not_available 'n/a' is never shown")));
  Must("air").not_available = Set("air").not_available = "";
  Must("air").warn_above = Must("air").warn_above_ends = Set("air").warn_above = {};
  EXPECT_THAT(Said(), ElementsAre(HasSubstr("its lamp 'amber' is never lit: it has no limit")));
}

TEST_F(OnPaper, TwoWarningsOfOneReadoutThatMaskEachOther) {
  Must("supply").warn_below_ends = 15.6;
  Set("supply").hysteresis_below = 3.6;
  EXPECT_THAT(Said(), ElementsAre(HasSubstr("one warning masks the other")));
}

TEST_F(OnPaper, TwoReadoutsOnOneLampWithOnePriority) {
  Must("coolant").priority = Must("speed").priority;
  EXPECT_THAT(Said(), ElementsAre(HasSubstr("'coolant' and 'speed' warn by one lamp 'red'")));
}

// engine_temps comes every 100 ms.
TEST_F(OnPaper, AMessageSlowerThanTheDashes) {
  Must("air").dashes_after_ms = Set("air").stale_ms = 100;
  EXPECT_THAT(Said(), ElementsAre(HasSubstr("message 'engine_temps' comes every 100 ms only")));
}

// Without readouts, what was set is looked at by itself.
TEST_F(OnPaper, WithoutReadoutsTheDisplayItselfIsLookedAt) {
  bench_.readouts.clear();
  EXPECT_THAT(Said(), IsEmpty());
  Set("coolant").hysteresis = 153;
  EXPECT_THAT(Said(), ElementsAre(HasSubstr("never ends")));
}

TEST_F(OnPaper, AGaugeThatNoReadoutAsksForIsListedAsOpen) {
  std::erase_if(bench_.readouts, [](auto& r) { return r.name == "air"; });
  Compared out;
  CompareReadouts(bench_, out);
  EXPECT_THAT(out.disagreements, IsEmpty());
  ASSERT_EQ(out.not_compared.size(), 1u);
  EXPECT_THAT(out.not_compared[0].what, HasSubstr("'air' is not among the readouts"));
}

TEST_F(OnPaper, AGaugeThatSaysNoTimeIsListedAsOpen) {
  Set("air").stale_is_taken = true;
  Compared out;
  CompareReadouts(bench_, out);
  ASSERT_EQ(out.not_compared.size(), 1u);
  EXPECT_THAT(out.not_compared[0].what, HasSubstr("gauge 'air': after how long"));
}

}  // namespace
}  // namespace drycrank::proofread
