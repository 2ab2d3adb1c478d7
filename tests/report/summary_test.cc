// SPDX-License-Identifier: Apache-2.0
#include "report/summary.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <limits>

#include "profile/kinds.h"
#include "tests/report/demo_report.h"

namespace drycrank::report {
namespace {

using check::Outcome;
using profile::Fault;
using testing::ElementsAre;
using testing::HasSubstr;

std::vector<std::string> NamesInOrder(const DemoReport& demo) {
  std::vector<std::string> names;
  for (const auto* v : WorstFirst(demo.report))
    names.push_back(ExpectationOf(demo.report, *v).name);
  return names;
}

TEST(Summary, SentenceCountsMetAndFailed) {
  DemoReport demo;
  EXPECT_EQ(VerdictSentence(demo.report), "4 of 7 expectations met, 3 failed, 1 of them not seen");
  EXPECT_FALSE(AllMet(demo.report));
  EXPECT_EQ(CoverageSentence(demo.report),
            "1 of 5 circuits proven, 2 failed, 2 not shown (1 repair first, 1 needs the meter).");
}

TEST(Summary, GapsAreCountedByTheirReason) {
  DemoReport demo;
  demo.report.coverage[4].gap = check::Gap::kNotAsked;
  demo.report.coverage[4].why = "does the pump run?";
  EXPECT_EQ(CoverageSentence(demo.report),
            "1 of 5 circuits proven, 2 failed, 2 not shown (1 repair first, 1 not asked).");
  EXPECT_THAT(Terminal(demo.report, false, 100),
              HasSubstr("fuel_signal: not shown: does the pump run?"));
  EXPECT_THAT(Html(demo.report), HasSubstr("does the pump run?"));
}

// What a person signed over, and what is on paper only, is neither proven nor not shown.
TEST(Summary, SignedAndUnfittedAreCountedApart) {
  DemoReport demo;
  demo.report.coverage[4].signed_by = "A. Fitter";
  demo.report.coverage[4].signed_why = "rung out with the meter, 0.2 ohm";
  demo.report.coverage[1].gap = check::Gap::kNotFitted;
  EXPECT_EQ(CoverageSentence(demo.report),
            "1 of 5 circuits proven, 2 failed, 0 not shown, 1 signed over, 1 on paper only.");
  EXPECT_EQ(WhyInWords(demo.report, demo.report.coverage[4]),
            "signed over by A. Fitter: rung out with the meter, 0.2 ohm");
}

TEST(Summary, HealthyRunIsProven) {
  DemoReport demo;
  MakeHealthy(demo);
  EXPECT_EQ(VerdictSentence(demo.report), "all 7 expectations met");
  EXPECT_TRUE(AllMet(demo.report));
}

TEST(Summary, NothingExpectedIsNothingMet) {
  DemoReport demo;
  demo.report.verdicts.clear();
  EXPECT_EQ(VerdictSentence(demo.report), "nothing was expected");
  EXPECT_FALSE(AllMet(demo.report));
}

TEST(Summary, NothingObservedIsAFailure) {
  DemoReport demo;
  MakeHealthy(demo);
  demo.report.verdicts[0].outcome = Outcome::kNotObserved;
  EXPECT_FALSE(AllMet(demo.report));
  EXPECT_THAT(VerdictSentence(demo.report), HasSubstr("1 failed: not seen"));
}

TEST(Summary, NotObservableIsNeitherMetNorFailed) {
  DemoReport demo;
  MakeHealthy(demo);
  demo.report.verdicts[0].outcome = Outcome::kNotObservable;
  EXPECT_FALSE(AllMet(demo.report));
  EXPECT_FALSE(AnyFailed(demo.report));
  EXPECT_THAT(VerdictSentence(demo.report), HasSubstr("met, 1 not observable"));
  EXPECT_THAT(VerdictSentence(demo.report), testing::Not(HasSubstr("failed")));
  EXPECT_EQ(MarginInWords(demo.report, demo.report.verdicts[0]), "—");
}

// Margins by what is allowed: coolant -49/2 = -24.5; synchronises -3/4 = -0.75; boost not seen;
// counter 0 of nothing; tight 0.1/2 = 0.05; cold 1.4/2 = 0.7; period 4.5/5 = 0.9.
TEST(Summary, WorstComesFirst) {
  DemoReport demo;
  EXPECT_THAT(NamesInOrder(demo),
              ElementsAre("coolant_on_bus", "synchronises", "boost_shown", "temps_counter",
                          "coolant_tight", "coolant_when_cold", "temps_period"));
}

TEST(Summary, MarginThatIsNoNumberIsTheWorst) {
  DemoReport demo;
  demo.report.verdicts[1].margin = std::numeric_limits<double>::quiet_NaN();
  EXPECT_EQ(NamesInOrder(demo).front(), "synchronises");
  EXPECT_EQ(MarginInWords(demo.report, demo.report.verdicts[1]), "—");
}

// 0.004 s of 5 ms is 80 %: the margin's unit need not be that of the allowance.
TEST(Summary, RelativeMarginConvertsUnits) {
  DemoReport demo;
  const profile::expect::MessagePresent present{{}, "", 0, 5};
  demo.Add("period", present, Outcome::kMet, 0.004, "s");
  const auto& v = demo.report.verdicts.back();
  EXPECT_DOUBLE_EQ(RelativeMargin(demo.report, v), 0.8);
  EXPECT_EQ(RelativeMarginInWords(demo.report, v), "80 % of the jitter allowed left");
  EXPECT_EQ(MarginInWords(demo.report, v), "+0.0040 s");  // two digits of 0.005 s: four decimals
}

// A ramp widens the band of its moment (check/wanted.h): 2.04 of 2.1 are 97 %, not 102 % of 2.
TEST(Summary, AShareIsOfWhatWasAllowedAtThatMoment) {
  DemoReport demo;
  demo.Add("ramp", demo.CoolantFollows(), Outcome::kMet, 2.04, "degC");
  demo.report.verdicts.back().allowed = 2.1;
  EXPECT_EQ(RelativeMarginInWords(demo.report, demo.report.verdicts.back()),
            "97 % of the tolerance left");
}

TEST(Summary, FramesAreAShareOfNothing) {
  DemoReport demo;
  const profile::expect::MessagePresent present{{}, "", 0, 5};
  demo.Add("once", present, Outcome::kMet, 7, "frames");
  EXPECT_EQ(RelativeMarginInWords(demo.report, demo.report.verdicts.back()), "");
  EXPECT_EQ(MarginInWords(demo.report, demo.report.verdicts.back()), "+7 frames");
}

// Held for 3 s of 2 s: longer than required is no share of anything left.
TEST(Summary, ATimeThatIsHeldIsSaidInTimes) {
  DemoReport demo;
  demo.Add("held", profile::expect::ForAtLeast{{}, 2}, Outcome::kMet, 1, "s");
  EXPECT_EQ(RelativeMarginInWords(demo.report, demo.report.verdicts.back()),
            "1.5 times the time required");
  demo.report.verdicts.back().margin = -0.5;
  demo.report.verdicts.back().outcome = Outcome::kFailed;
  EXPECT_EQ(RelativeMarginInWords(demo.report, demo.report.verdicts.back()),
            "25 % of the time required missing");
}

TEST(Summary, MarginsAreWords) {
  DemoReport demo;
  const auto& v = demo.report.verdicts;
  EXPECT_EQ(MarginInWords(demo.report, v[0]), "-49.0 °C");
  EXPECT_EQ(RelativeMarginInWords(demo.report, v[0]), "25.5 times the tolerance");
  EXPECT_EQ(RelativeMarginInWords(demo.report, v[1]), "75 % more than the turns allowed");
  EXPECT_EQ(MarginInWords(demo.report, v[2]), "—");
  EXPECT_EQ(MarginInWords(demo.report, v[5]), "0");
}

TEST(Summary, AProofSaysWhatWouldHaveBeenReported) {
  DemoReport demo;
  EXPECT_EQ(WhyInWords(demo.report, demo.report.coverage[3]),
            demo.scenario.expectations[3].name +
                " in idle: open, it would report 0 rpm, 750 r/min beyond what is allowed");
}

// Proven in one step, and contradicted later: failed, with both times.
TEST(Summary, AContradictedCircuitHasBothTimes) {
  DemoReport demo;
  demo.report.coverage[0].proofs = {{3, "idle", FromSeconds(3), "0 rpm", 750, "rpm"}};
  EXPECT_EQ(WhyInWords(demo.report, demo.report.coverage[0]),
            demo.scenario.expectations[0].name + " at 4.000 s; " +
                demo.scenario.expectations[3].name + " was met at 3.000 s");
}

TEST(Summary, WhatAFailureSpeaksAgainstIsLookedAtAlone) {
  DemoReport demo;
  const auto suspects = SuspectsOf(demo.report, 0);
  ASSERT_EQ(suspects.size(), 1u);
  EXPECT_EQ(suspects[0].circuit, "coolant_signal");
}

// Explained by no break or short: all that the expectation concerns, but those proven last.
TEST(Summary, AFailureThatNoCircuitExplainsListsWhatItConcerns) {
  DemoReport demo;
  for (auto& circuit : demo.report.coverage) circuit.against.clear();
  demo.report.coverage[3].concerned = {0};
  const auto suspects = SuspectsOf(demo.report, 0);
  ASSERT_EQ(suspects.size(), 3u);
  EXPECT_EQ(suspects[0].circuit, "coolant_signal");
  EXPECT_EQ(suspects[1].circuit, "sensor_ground");
  EXPECT_EQ(suspects[2].circuit, "cam_return");
  EXPECT_EQ(suspects[2].but,
            demo.scenario.expectations[3].name + " needs this circuit too and is met");
}

TEST(Words, RequirementsAreSentences) {
  DemoReport demo;
  const auto words = [&](int i) {
    return RequirementInWords(demo.report, demo.scenario.expectations[static_cast<std::size_t>(i)]);
  };
  EXPECT_EQ(words(0), "engine_temps.coolant follows coolant_temperature within ± 2 °C");
  EXPECT_EQ(words(1), "engine_status.sync equals synchronised within 4 crank turns");
  EXPECT_EQ(words(2), "the display (Boost) shows boost plus barometric pressure within ± 1 kPa");
  EXPECT_EQ(words(4), "engine_temps arrives every 100 ms ± 5 ms");
}

TEST(Words, EveryKindOfFaultNamesItsPlace) {
  const auto kinds = static_cast<int>(std::variant_size_v<profile::FaultKind>);
  for (int k = 0; k < kinds; ++k) {
    Fault f;
    f.kind = profile::KindAt<profile::FaultKind>(k);
    f.at = "PLACE.1";
    f.with = "OTHER.2";
    EXPECT_THAT(FaultInWords(f), HasSubstr("PLACE.1")) << k;
  }
}

TEST(Words, FaultSaysItsSize) {
  Fault f;
  f.kind = profile::fault::SeriesResistance{220};
  f.at = "CLT.1";
  EXPECT_EQ(FaultInWords(f), "220 Ω in series at CLT.1");
  f.kind = profile::fault::Leakage{220};
  EXPECT_EQ(FaultInWords(f), "CLT.1 leaks to supply minus through 220 Ω");
}

TEST(Words, FaultSaysWhen) {
  DemoReport demo;
  Fault f;
  EXPECT_EQ(FaultTimeInWords(demo.report, f), "the whole run");
  f.during = {"idle"};
  EXPECT_EQ(FaultTimeInWords(demo.report, f), "during idle (2.000 s to 20.000 s)");
  f.from_s = 2.5;
  EXPECT_EQ(FaultTimeInWords(demo.report, f), "from 2.5 s to the end");
}

}  // namespace
}  // namespace drycrank::report
