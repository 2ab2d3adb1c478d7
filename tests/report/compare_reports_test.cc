// SPDX-License-Identifier: Apache-2.0
//
// Two reports compared. The reports are written here by hand, by the keys that json.cc promises.
#include "report/compare_reports.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace drycrank::report {
namespace {

using testing::AllOf;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

struct Made {
  std::string outcome = "met", requirement = "coolant follows within 5 °C", state = "proven",
              reason = "";
  double margin = 4, relative = 0.8;
  int seed = 1;
};

ReadReport Read(const Made& m) {
  std::string why;
  const auto report = ParseReport(
      fmt::format(
          R"({{"format": "drycrank report", "format_version": 2, "version": "0.1.0", "seed": {},
        "mode": "virtual time", "bench": {{"name": "b", "file": "b.yaml"}}, "scenario": {{"name": "s"}},
        "faults": [], "expectations": [{{"name": "coolant", "outcome": "{}", "requirement": "{}",
          "detail": "at worst 81 °C", "margin": {}, "margin_unit": "K", "relative_margin": {}}}],
        "circuits": [{{"name": "signal", "state": "{}", "reason": "{}"}}]}})",
          m.seed, m.outcome, m.requirement, m.margin, m.relative, m.state, m.reason),
      why);
  EXPECT_EQ(why, "");
  return *report;
}
std::string Compared(const Made& was, const Made& now) {
  return Text(CompareReports(Read(was), Read(now)));
}

TEST(CompareReports, SaysThatNothingChanged) {
  EXPECT_EQ(Compared({}, {}), "nothing changed: 1 expectation and 1 circuit as before\n");
}

TEST(CompareReports, AnOutcomeIsSaidWithItsReason) {
  EXPECT_THAT(Compared({}, {.outcome = "failed", .margin = -1, .relative = -0.2}),
              AllOf(HasSubstr("coolant: now failed, was met: at worst 81 °C\n"),
                    HasSubstr("nothing else changed: 0 expectations and 1 circuit as before\n")));
}

// A tenth of the tolerance, here of 5 K.
TEST(CompareReports, AMarginIsWorthASentenceBeyondATenthOfItsTolerance) {
  EXPECT_THAT(Compared({}, {.margin = 3.6, .relative = 0.72}), HasSubstr("nothing changed"));
  EXPECT_THAT(Compared({}, {.margin = 0.5, .relative = 0.1}),
              HasSubstr("coolant: margin is now +0.50 K, was +4.00 K\n"));
}

TEST(CompareReports, ACircuitIsSaidWithWhyItIsNotShown) {
  EXPECT_THAT(Compared({}, {.state = "not_shown", .reason = "repair_first"}),
              HasSubstr("circuit signal: now not shown (repair first), was proven\n"));
}

TEST(CompareReports, AnotherRequirementIsNoEqual) {
  EXPECT_THAT(
      Compared({}, {.requirement = "coolant follows within 9 °C"}),
      HasSubstr("coolant: now asks: coolant follows within 9 °C; was: coolant follows within 5"));
}

TEST(CompareReports, AnotherSeedIsANote) {
  const ReportComparison c = CompareReports(Read({}), Read({.seed = 2}));
  EXPECT_THAT(c.changes, IsEmpty());
  EXPECT_THAT(c.notes, ElementsAre("the seed is 2, was 1"));
}

TEST(CompareReports, WhatIsGoneOrNewIsSaid) {
  ReadReport was = Read({}), now = Read({});
  now.expectations.clear();
  now.circuits["fan"] = "proven";
  EXPECT_THAT(Text(CompareReports(was, now)), AllOf(HasSubstr("coolant: is not there any more\n"),
                                                    HasSubstr("circuit fan: was not there\n")));
}

TEST(CompareReports, JunitHasACaseForEach) {
  const std::string xml = JunitXml(CompareReports(Read({}), Read({.outcome = "failed"})), "b");
  EXPECT_THAT(xml, AllOf(HasSubstr("tests=\"2\" failures=\"1\""), HasSubstr("type=\"outcome\""),
                         HasSubstr("name=\"circuit signal\"/>")));
}

TEST(CompareReports, WhatIsNoReportIsRefused) {
  for (const char* text : {"", "{", "[]", "null", "7", R"({"format": "drycrank comparison"})",
                           R"({"format": ["drycrank report"]})"}) {
    std::string why;
    EXPECT_FALSE(ParseReport(text, why)) << text;
    EXPECT_THAT(why, HasSubstr("is no report")) << text;
  }
  std::string why;
  EXPECT_FALSE(ParseReport(R"({"format": "drycrank report", "format_version": 1})", why));
  EXPECT_THAT(why, HasSubstr("another format than 2"));
}

// Whatever the keys hold.
TEST(CompareReports, OddContentHarmsNobody) {
  std::string why;
  const auto report = ParseReport(
      R"({"format": "drycrank report", "format_version": 2, "seed": "x", "bench": [], "faults": [1, {}],
          "expectations": [null, {"name": 5, "margin": "a"}, [[]]], "circuits": {"a": 1}})",
      why);
  ASSERT_TRUE(report);
  EXPECT_THAT(Text(CompareReports(*report, *report)), HasSubstr("nothing changed"));
}

TEST(CompareReports, NoTerminalObeysWhatAReportSays) {
  ReadReport was = Read({}), now = Read({});
  now.circuits["\x1b[31mred"] = "proven";
  EXPECT_THAT(Text(CompareReports(was, now)), Not(HasSubstr("\x1b")));
}

}  // namespace
}  // namespace drycrank::report
