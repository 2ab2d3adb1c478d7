// SPDX-License-Identifier: Apache-2.0
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <limits>
#include <nlohmann/json.hpp>

#include "report/report.h"
#include "tests/report/demo_report.h"

namespace drycrank::report {
namespace {

nlohmann::json Parsed(const Report& report) { return nlohmann::json::parse(Json(report)); }

TEST(Json, SaysTheVerdict) {
  DemoReport demo;
  const auto j = Parsed(demo.report);
  EXPECT_EQ(j.at("format"), "drycrank report");
  EXPECT_EQ(j.at("all_met"), false);
  EXPECT_EQ(j.at("expectations_met"), 4);
  EXPECT_EQ(j.at("expectations_failed"), 2);
  EXPECT_EQ(j.at("expectations_not_observed"), 1);
  EXPECT_EQ(j.at("seed"), 7);
  EXPECT_EQ(j.at("duration_ns"), 20000000000);
}

TEST(Json, ExpectationsStandInTheirOrderWithNumbers) {
  DemoReport demo;
  const auto e = Parsed(demo.report).at("expectations");
  ASSERT_EQ(e.size(), 7u);
  EXPECT_EQ(e[0].at("outcome"), "failed");
  EXPECT_EQ(e[0].at("margin"), -49.0);
  EXPECT_EQ(e[0].at("relative_margin"), -24.5);
  EXPECT_EQ(e[0].at("worst_ns"), 14200000000);
  EXPECT_EQ(e[0].at("evidence").at("points").size(), 600u);
  EXPECT_EQ(e[0].at("evidence").at("points")[0], nlohmann::json({0, 20.0, 20.0, 2.0}));
  EXPECT_EQ(e[1].at("kind"), "synchronised");
}

TEST(Json, WhatWasNotObservedHasNoMargin) {
  DemoReport demo;
  const auto e = Parsed(demo.report).at("expectations")[2];
  EXPECT_EQ(e.at("outcome"), "not_observed");
  EXPECT_TRUE(e.at("margin").is_null());
  EXPECT_TRUE(e.at("worst_ns").is_null());
}

TEST(Json, NotANumberIsNull) {
  DemoReport demo;
  demo.report.verdicts[0].margin = std::numeric_limits<double>::infinity();
  demo.report.verdicts[0].evidence.points[0].wanted = std::numeric_limits<double>::quiet_NaN();
  const auto e = Parsed(demo.report).at("expectations")[0];
  EXPECT_TRUE(e.at("margin").is_null());
  EXPECT_TRUE(e.at("relative_margin").is_null());
  EXPECT_TRUE(e.at("evidence").at("points")[0][2].is_null());
}

TEST(Json, CircuitsCarryTheirWires) {
  DemoReport demo;
  const auto c = Parsed(demo.report).at("circuits");
  EXPECT_EQ(c[0].at("state"), "failed");
  EXPECT_EQ(c[0].at("failed"), nlohmann::json({"coolant_on_bus"}));
  EXPECT_EQ(c[1].at("state"), "not_shown");
  EXPECT_EQ(c[1].at("reason"), "repair_first");
  EXPECT_EQ(c[3].at("proof").at("would_report"), "0 rpm");
  EXPECT_EQ(c[3].at("proof").at("margin"), 750.0);
  EXPECT_EQ(c[1].at("wires").size(), 2u);
  EXPECT_EQ(c[1].at("wires")[0].at("colour"), "brown");
  EXPECT_EQ(c[4].at("state"), "not_shown");
  EXPECT_EQ(c[4].at("reason"), "needs_meter");
}

TEST(Json, MessagesCarryWhatIsKnownOfTheirTimes) {
  DemoReport demo;
  const auto m = Parsed(demo.report).at("messages");
  ASSERT_EQ(m.size(), 2u);
  EXPECT_EQ(m[0].at("response_on_paper_ns"), 1080000);
  EXPECT_EQ(m[0].at("skipped"), 2);
  EXPECT_TRUE(m[0].at("late_p999_ns").is_null());
  EXPECT_TRUE(m[1].at("response_measured_ns").is_null());
  EXPECT_EQ(m[1].at("late_p999_ns"), 99000);
  EXPECT_TRUE(Parsed(demo.report).at("buses")[0].at("load_measured").is_null());
}

TEST(Json, BadBytesAndQuotesSurvive) {
  DemoReport demo;
  demo.scenario.expectations[0].name = "a\"b\\c\n\xFF";
  EXPECT_EQ(Parsed(demo.report).at("expectations")[0].at("name"), "a\"b\\c\n\uFFFD");
}

TEST(Json, EmptyListsAreLists) {
  DemoReport demo;
  demo.report.steps.clear();
  demo.scenario.faults.clear();
  EXPECT_TRUE(Parsed(demo.report).at("steps").is_array());
  EXPECT_TRUE(Parsed(demo.report).at("faults").is_array());
}

}  // namespace
}  // namespace drycrank::report
