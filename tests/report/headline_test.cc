// SPDX-License-Identifier: Apache-2.0
#include "report/headline.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/report/demo_report.h"
#include "tests/report/markup_check.h"

namespace drycrank::report {
namespace {

using testing::HasSubstr;
using testing::Not;

// A demo in which all is met and every circuit proven.
class HeadlineTest : public testing::Test {
 protected:
  HeadlineTest() { MakeHealthy(demo_); }
  Report& report() { return demo_.report; }
  void LeaveOneOpen() {
    report().coverage[4] = {"fuel_signal"};
    report().coverage[4].why = "take the meter";
  }
  DemoReport demo_;
};

TEST_F(HeadlineTest, WithStandInsItSpeaksOfTheFileAlone) {
  EXPECT_EQ(Headline(report()), "The bench as drawn works: all 7 expectations met.");
  EXPECT_EQ(WhatWasJudged(report()),
            "Nothing real was judged: stand-ins played controller and display.");
  EXPECT_THAT(Html(report()), HasSubstr("The file only: no harness was judged"));
}

TEST_F(HeadlineTest, ReadyOnlyWhenEveryCircuitIsShown) {
  report().controller_real = report().display_real = true;
  EXPECT_EQ(Headline(report()), "READY: every circuit proven, all 7 expectations met.");
  EXPECT_THAT(Html(report()), HasSubstr("banner ready"));
  LeaveOneOpen();
  EXPECT_EQ(Headline(report()), "NOT READY: 1 circuit not shown; all 7 expectations met.");
  EXPECT_THAT(Html(report()), HasSubstr("NOT for handing over"));
  EXPECT_THAT(Html(report()), Not(HasSubstr("banner ready")));
  report().coverage[4].signed_by = "A. Fitter";
  EXPECT_EQ(Headline(report()),
            "READY: every circuit proven or signed over, all 7 expectations met.");
}

TEST_F(HeadlineTest, AWalkWantsEveryCircuitAScenarioDoesNot) {
  LeaveOneOpen();
  EXPECT_EQ(StandingOf(report()), Standing::kAsDrawn);
  report().is_walk = true;
  EXPECT_EQ(Headline(report()), "NOT ALL SHOWN: 1 circuit not shown; all 7 expectations met.");
  const std::string xml = JunitXml(report());
  EXPECT_TRUE(MarkupIsSound("junit", "junit_open.xml", xml));
  EXPECT_THAT(xml, HasSubstr("name=\"circuit fuel_signal\""));
  EXPECT_THAT(xml, HasSubstr("errors=\"1\""));
}

TEST_F(HeadlineTest, AFailureComesBeforeAllElse) {
  LeaveOneOpen();
  report().stopped = report().is_walk = true;
  report().verdicts[0].outcome = check::Outcome::kFailed;
  EXPECT_THAT(Headline(report()), testing::StartsWith("FAILED: 6 of 7 expectations met, 1 failed"));
}

// What was still to be seen when it was stopped is not shown; it did not fail.
TEST_F(HeadlineTest, AStoppedRunIsNeverGood) {
  report().stopped = true;
  EXPECT_THAT(Headline(report()),
              testing::StartsWith("STOPPED at 20.000 s: the rest was not judged"));
  EXPECT_FALSE(AllMet(report()));
  report().verdicts[0].outcome = check::Outcome::kNotObserved;
  EXPECT_EQ(StandingOf(report()), Standing::kStopped);
  EXPECT_THAT(JunitXml(report()), HasSubstr("name=\"end\""));
}

TEST_F(HeadlineTest, NothingExpectedIsNothingShown) {
  report().verdicts.clear();
  EXPECT_EQ(StandingOf(report()), Standing::kNothing);
  EXPECT_THAT(JunitXml(report()), HasSubstr("<error message=\"NOTHING SHOWN"));
}

// Nobody on the bus: nothing came, so nothing was judged and nothing failed.
TEST_F(HeadlineTest, SilentRealPartsFailNothing) {
  for (auto& verdict : report().verdicts) verdict.outcome = check::Outcome::kNotObserved;
  EXPECT_EQ(StandingOf(report()), Standing::kFailed);
  report().controller_real = true;
  EXPECT_EQ(StandingOf(report()), Standing::kNotSeen);
}

}  // namespace
}  // namespace drycrank::report
