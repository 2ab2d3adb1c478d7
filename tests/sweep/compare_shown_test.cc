// SPDX-License-Identifier: Apache-2.0
#include "sweep/compare_shown.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "sweep/which_setting.h"
#include "tests/sweep/small_bench.h"

namespace drycrank::sweep {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

class Comparing : public testing::Test {
 protected:
  profile::Gauge& Coolant() { return now_.display->gauges[0]; }
  WhatItShowed Was() const { return SweepStandin(was_, 1); }
  WhatItShowed Now() const { return SweepStandin(now_, 1); }
  std::string Text() const { return ComparisonText(Compare(Was(), Now())); }
  profile::Bench was_ = WithReadouts(), now_ = WithReadouts();

 private:
  static profile::Bench WithReadouts() {
    profile::Bench bench = SmallBench();
    bench.readouts = RequiredReadouts(bench);
    return bench;
  }
};

TEST_F(Comparing, EqualOnesSayHowMuchIsIdentical) {
  EXPECT_EQ(Text(), "nothing changed: 3 readouts and " + std::to_string(Was().facts.size()) +
                        " points identical\n");
}

TEST_F(Comparing, OneSentenceForOneChange) {
  Coolant().warn_above = 107;
  const std::string text = Text();
  EXPECT_THAT(text, HasSubstr("coolant: warning now comes above 107 °C, was 112 °C\n"));
  EXPECT_THAT(text, HasSubstr("coolant: the high warning now ends at 103 °C, was 108 °C\n"));
  EXPECT_THAT(text, HasSubstr("nothing else changed: 2 readouts and"));
  EXPECT_THAT(text, Not(HasSubstr("gear")));
}

// The display was gone in mid-sweep: what it showed is compared, the rest is neither met nor
// changed.
TEST_F(Comparing, WhereTheLaterOneEndedTheRestIsNotShown) {
  WhatItShowed now = Now();
  std::erase_if(now.facts, [](const ShownFact& f) {
    return f.readout == "oil" || (f.readout == "gear" && f.step != Step::kUp);
  });
  now.by.ended = {{"gear", "gone at 6.0 s, before the rest of it"},
                  {"oil", "gone at 6.0 s, before it was swept"}};
  Comparison comparison = Compare(Was(), now);
  EXPECT_THAT(comparison.changes, IsEmpty());
  EXPECT_THAT(ComparisonText(comparison),
              HasSubstr("\nnot shown: gear: gone at 6.0 s, before the rest of it\n"
                        "not shown: oil: gone at 6.0 s, before it was swept\n"));
  EXPECT_THAT(ComparisonJunit(comparison, "x"),
              HasSubstr("tests=\"3\" failures=\"0\" errors=\"2\""));
  EXPECT_EQ(nlohmann::json::parse(ComparisonJson(comparison))["not_shown"].size(), 2u);
  now.facts.back().shown.text = "P";  // of the gear
  comparison = Compare(Was(), now);
  ASSERT_EQ(comparison.changes.size(), 1u);
  EXPECT_EQ(comparison.changes[0].readout, "gear");
}

// And the setting is looked for in what it showed.
TEST_F(Comparing, OfOneThatEndedTheSettingIsNamed) {
  Coolant().warn_above = 107;
  WhatItShowed now = Now();
  std::erase_if(now.facts, [](const ShownFact& f) {
    return f.readout != "coolant" || f.step > Step::kEndsBelow;
  });
  now.by.ended = {{"coolant", "gone"}, {"gear", "gone"}, {"oil", "gone"}};
  const Explained explained = WhichSetting(was_, now);
  ASSERT_FALSE(explained.by.empty());
  EXPECT_EQ(explained.by.front().setting, "warn_above of gauge coolant");
  EXPECT_EQ(explained.by.front().becomes, "107");
}

TEST_F(Comparing, AgainstWhatMustBeShownItSaysMust) {
  Coolant().warn_above = 107;
  const std::string text = ComparisonText(CompareWithRequired(Was(), Now()));
  EXPECT_THAT(text, HasSubstr("coolant: warning comes above 107 °C, must be 112 °C\n"));
}

TEST_F(Comparing, DifferencesOfBenchVersionAndSeedAreNotes) {
  WhatItShowed was = Was(), now = Now();
  now.by.bench = "other";
  now.by.seed = "2";
  now.by.version = "9";
  const Comparison comparison = Compare(was, now);
  EXPECT_THAT(comparison.changes, IsEmpty());
  EXPECT_THAT(ComparisonText(comparison), AllOf(HasSubstr("note: bench now other, was small"),
                                                HasSubstr("note: seed now 2, was 1"),
                                                HasSubstr("note: version of drycrank now 9")));
}

TEST_F(Comparing, AReadoutThatOneDidNotLookAtIsSaid) {
  WhatItShowed now = Now();
  std::erase_if(now.facts, [](const ShownFact& f) { return f.readout == "gear"; });
  EXPECT_THAT(ComparisonText(Compare(Was(), now)), HasSubstr("gear: not looked at any more"));
}

TEST_F(Comparing, AReadoutThatIsNewIsNotAskedBeforeAndNoChange) {
  WhatItShowed was = Was();
  std::erase_if(was.facts, [](const ShownFact& f) { return f.readout == "gear"; });
  const Comparison comparison = Compare(was, Now());
  EXPECT_THAT(comparison.changes, IsEmpty());
  EXPECT_THAT(ComparisonText(comparison),
              HasSubstr("nothing changed: 2 readouts and " + std::to_string(was.facts.size()) +
                        " points identical\ngear: not asked before\n"));
  EXPECT_THAT(ComparisonJunit(comparison, "small"), HasSubstr("tests=\"2\" failures=\"0\""));
}

// As when a bench learns how its display goes on, after somebody has accepted.
TEST_F(Comparing, PointsThatAreNewAreNotAskedBeforeAndNoChange) {
  const WhatItShowed was = Was();
  now_.switching = now_.display->switching = {800, 1200, "", 0};
  const Comparison comparison = Compare(was, Now());
  EXPECT_THAT(comparison.changes, IsEmpty());
  EXPECT_THAT(ComparisonText(comparison),
              AllOf(HasSubstr("nothing changed: 3 readouts"),
                    HasSubstr("coolant: not asked before: stands after, lamp test\n"),
                    HasSubstr("gear: not asked before: stands after\n")));
  const auto json = nlohmann::json::parse(ComparisonJson(comparison));
  EXPECT_EQ(json["not_asked_before"][0]["readout"], "coolant");
}

TEST_F(Comparing, AChangeBesidesNewPointsIsSaidStill) {
  WhatItShowed was = Was();
  std::erase_if(was.facts, [](const ShownFact& f) { return f.step == Step::kBack; });
  Coolant().page = 2;
  const std::string text = ComparisonText(Compare(was, Now()));
  EXPECT_THAT(text, HasSubstr("coolant: now stands on page 2, was on page 1\n"));
  EXPECT_THAT(text, HasSubstr("coolant: not asked before: back\n"));
}

TEST_F(Comparing, PointsThatAreNotAskedAgainAreAChange) {
  WhatItShowed now = Now();
  std::erase_if(now.facts, [](const ShownFact& f) { return f.step == Step::kBack; });
  EXPECT_THAT(ComparisonText(Compare(Was(), now)),
              HasSubstr("coolant: not looked at any more: back\n"));
}

TEST_F(Comparing, WhatMustBeShownAndWasNotAskedIsADifference) {
  WhatItShowed required = Was();
  std::erase_if(required.facts, [](const ShownFact& f) { return f.step == Step::kBack; });
  EXPECT_EQ(CompareWithRequired(required, Now()).changes.size(), 3u);
}

TEST_F(Comparing, APersonCountsToASecond) {
  WhatItShowed was, now;
  was.by.witness = now.by.witness = "a person: R. Fitter";
  was.facts = {{"coolant", Step::kOffAfter, 2.5, {}}};
  now.facts = {{"coolant", Step::kOffAfter, 3.5, {}}};
  EXPECT_THAT(Compare(was, now).changes, IsEmpty());
  now.facts[0].input = 3.6;
  EXPECT_EQ(Compare(was, now).changes.size(), 1u);
  now.facts[0].input = 2.6;
  was.by.witness = now.by.witness = "stand-in";
  EXPECT_EQ(Compare(was, now).changes.size(), 1u);
}

// No single line of a result may differ without a word.
TEST_F(Comparing, EachLineThatDiffersIsSaid) {
  const WhatItShowed was = Was();
  for (std::size_t i = 0; i < was.facts.size(); ++i) {
    for (int part = 0; part < 4; ++part) {
      WhatItShowed now = was;
      Shown& shown = now.facts[i].shown;
      (part == 0   ? shown.text
       : part == 1 ? shown.unit
       : part == 2 ? shown.state
                   : shown.lamp) += "x";
      EXPECT_THAT(Compare(was, now).changes, Not(IsEmpty()))
          << was.facts[i].readout << " " << Name(was.facts[i].step) << " " << part;
    }
  }
}

TEST_F(Comparing, JsonAndJunitHaveTheSameChanges) {
  Coolant().page = 2;
  const Comparison comparison = Compare(Was(), Now());
  const auto json = nlohmann::json::parse(ComparisonJson(comparison));
  EXPECT_EQ(json["format_version"], 1);
  ASSERT_EQ(json["changes"].size(), 1u);
  EXPECT_EQ(json["changes"][0]["readout"], "coolant");
  EXPECT_EQ(json["changes"][0]["kind"], "page");
  EXPECT_EQ(json["readouts_identical"], 2);
  const std::string junit = ComparisonJunit(comparison, "small");
  EXPECT_THAT(junit, HasSubstr("tests=\"3\" failures=\"1\""));
  EXPECT_THAT(junit, HasSubstr("now stands on page 2, was on page 1"));
}

}  // namespace
}  // namespace drycrank::sweep
