// SPDX-License-Identifier: Apache-2.0
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "report/report.h"
#include "tests/report/demo_report.h"
#include "tests/report/markup_check.h"

namespace drycrank::report {
namespace {

using testing::HasSubstr;
using testing::Not;

// Whether the texts occur in this order.
bool InOrder(const std::string& page, const std::vector<std::string>& texts) {
  std::size_t at = 0;
  for (const std::string& text : texts) {
    at = page.find(text, at);
    if (at == std::string::npos) {
      ADD_FAILURE() << "missing or too early: " << text;
      return false;
    }
  }
  return true;
}

TEST(Html, PageIsSound) {
  DemoReport demo;
  EXPECT_TRUE(MarkupIsSound("page", "demo.html", Html(demo.report)));
  MakeHealthy(demo);
  EXPECT_TRUE(MarkupIsSound("page", "healthy.html", Html(demo.report)));
  EXPECT_FALSE(MarkupIsSound("page", "twin.html", "<html><a href=\"#nowhere\">x</a></html>"));
}

TEST(Html, WhatMattersFirstStandsFirst) {
  DemoReport demo;
  EXPECT_TRUE(InOrder(Html(demo.report), {"FAILED: 2 circuits, 4 of 7 expectations met",
                                          "href=\"#cautions\"",
                                          "What failed, and where to look",
                                          "<h3>The controller takes the coolant",
                                          "reported 141.0\u00A0°C, should be",
                                          "<th>coolant_signal</th><td>CLT.1 (coolant sensor)</td>"
                                          "<td>ECU.12 (controller)</td><td>violet/white</td>",
                                          "The two leads of the cam sensor may be swapped.",
                                          "Circuits that are not proven",
                                          "repair coolant_signal first",
                                          "Crank and cam around the first gap",
                                          "All expectations",
                                          "Proven circuits",
                                          "Cautions",
                                          "Faults put in",
                                          "terminals CMP.1 and CMP.2 swapped",
                                          "Steps",
                                          "waited 3.0\u00A0s in vain",
                                          "Buses, in frames",
                                          ">3998<",
                                          "How this was made",
                                          "drycrank run profiles",
                                          "Sheet to sign",
                                          "NOT for handing over",
                                          "signature"}));
}

TEST(Html, ExpectationsAreSortedWorstFirst) {
  DemoReport demo;
  EXPECT_TRUE(InOrder(Html(demo.report), {"All expectations", "id=\"e0\"", "id=\"e1\"", "id=\"e2\"",
                                          "id=\"e5\"", "id=\"e6\"", "id=\"e3\"", "id=\"e4\""}));
}

TEST(Html, ExpectationsHaveLabelsAndTheirKeysAsATitle) {
  DemoReport demo;
  const std::string page = Html(demo.report);
  EXPECT_THAT(page, HasSubstr("<h3 title=\"coolant_on_bus\">"));
  EXPECT_THAT(page, HasSubstr("</span> Coolant on bus</h3>"));
  EXPECT_THAT(page, Not(HasSubstr(">coolant_on_bus<")));
}

TEST(Html, HealthyRunShowsNoFailure) {
  DemoReport demo;
  MakeHealthy(demo);
  const std::string page = Html(demo.report);
  EXPECT_THAT(page, HasSubstr("The bench as drawn works: all 7 expectations met."));
  EXPECT_THAT(page, HasSubstr("No fault: the bench was run as its file says."));
  EXPECT_THAT(page, Not(HasSubstr("What failed")));
  EXPECT_THAT(page, Not(HasSubstr("may be swapped")));
  EXPECT_THAT(page, Not(HasSubstr("✗")));
}

TEST(Html, AllCautionsAreThere) {
  DemoReport demo;
  MakeHealthy(demo);
  const std::string page = Html(demo.report);
  ASSERT_GE(Cautions().size(), 8u);
  for (const std::string& caution : Cautions()) EXPECT_THAT(page, HasSubstr(caution));
}

// The hazards of a bench, common practice, no source: each has to be named.
TEST(Cautions, NameTheHazards) {
  std::string all;
  for (const std::string& caution : Cautions()) all += caution;
  for (const char* hazard :
       {"coils", "high voltage", "injectors", "fuel", "vapour", "pumps", "fans", "starter",
        "throttle plate", "Fuse", "emergency stop", "parallel", "eye protection", "licensed",
        "electrical code", "does not replace"}) {
    EXPECT_NE(all.find(hazard), std::string::npos) << hazard;
  }
}

TEST(Html, NothingComesFromElsewhere) {
  DemoReport demo;
  const std::string page = Html(demo.report);
  for (const char* outside : {"http:", "https:", "<script ", "fetch(", "import(", "url(", "@import", "src="}) {
    EXPECT_THAT(page, Not(HasSubstr(outside)));
  }
}

TEST(Html, ProfilesCannotWriteMarkup) {
  DemoReport demo;
  const std::string evil = "<script>alert('&\"')</script>\x03\xFF";
  for (auto& e : demo.scenario.expectations) {
    e.name = e.means = evil;
    std::visit(
        [&](auto& kind) {
          if constexpr (requires { kind.signal_text; }) kind.signal_text = evil;
          if constexpr (requires { kind.message_text; }) kind.message_text = evil;
          if constexpr (requires { kind.condition; }) kind.condition.text = evil;
        },
        e.kind);
  }
  for (auto& v : demo.report.verdicts) v.detail = v.margin_unit = v.evidence.quantity = evil;
  for (auto& w : demo.bench.wires) w.from = w.to = w.colour = w.gauge = evil;
  for (auto& c : demo.report.pictures[0].channels) c.name = c.unit = evil;
  for (auto& m : demo.report.pictures[0].marks) m.second = evil;
  for (auto& c : demo.report.coverage) c.circuit = evil;
  demo.scenario.expectations[0].proves = {evil};
  demo.scenario.faults[0].name = demo.scenario.faults[0].at = evil;
  demo.scenario.title = demo.scenario.name = demo.bench.title = demo.bench.name = evil;
  demo.report.steps[0].name = demo.report.steps[0].note = evil;
  demo.report.buses[0].bus = demo.report.buses[0].interface = evil;
  demo.report.mode = demo.report.version = demo.report.hint_command = evil;
  demo.report.notes = {evil};
  demo.report.pictures[0].title = evil;
  const std::string page = Html(demo.report);
  EXPECT_THAT(page, Not(HasSubstr("<script>alert")));
  EXPECT_TRUE(MarkupIsSound("page", "evil.html", page));
}

TEST(Html, NoNumberIsPrintedAsSuch) {
  DemoReport demo;
  const double nan = std::numeric_limits<double>::quiet_NaN();
  for (auto& v : demo.report.verdicts) {
    v.margin = nan;
    v.detail.clear();
    for (std::size_t i = 0; i < v.evidence.points.size(); i += 7) {
      v.evidence.points[i] = {v.evidence.points[i].t_ns, nan, -HUGE_VAL, nan};
    }
  }
  demo.report.pictures[0].channels[0].points[100].second = HUGE_VAL;
  const std::string page = Html(demo.report);
  for (const char* text : {"nan", "NaN", "inf ", "inf,", ",inf", "-inf", ">inf"}) {
    EXPECT_THAT(page, Not(HasSubstr(text))) << text;
  }
  EXPECT_TRUE(MarkupIsSound("page", "not_a_number.html", page));
}

TEST(Html, SameReportGivesTheSameBytes) {
  DemoReport one, other;
  EXPECT_EQ(Html(one.report), Html(other.report));
  EXPECT_EQ(Json(one.report), Json(other.report));
  EXPECT_EQ(JunitXml(one.report), JunitXml(other.report));
  EXPECT_EQ(Terminal(one.report, true, 80), Terminal(other.report, true, 80));
}

// 60 expectations of 600 points, none on a straight line: the page must still open on a small
// machine. The limit of 2 MB is ours.
TEST(Html, SixtyRestlessExpectationsStayBelowTwoMegabytes) {
  DemoReport demo;
  for (int k = 0; k < 60; ++k) {
    demo.Add("restless", profile::expect::Follows{{}, "", {-1, {}, 50, false}},
             k % 2 == 0 ? check::Outcome::kFailed : check::Outcome::kMet, 1, "rpm");
    auto& evidence = demo.report.verdicts.back().evidence;
    for (int i = 0; i < 600; ++i) {
      const double wanted = 3000 + 2000 * std::sin(i * 0.7 + k);
      evidence.points.push_back({FromMs(i), wanted + 90 * std::sin(i * 2.1), wanted, 50});
    }
  }
  const std::string page = Html(demo.report);
  EXPECT_LT(page.size(), 2'000'000u);
  EXPECT_TRUE(MarkupIsSound("page", "large.html", page));
}

}  // namespace
}  // namespace drycrank::report
