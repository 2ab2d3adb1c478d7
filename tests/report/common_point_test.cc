// SPDX-License-Identifier: Apache-2.0
#include "report/common_point.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "check/judge.h"

namespace drycrank::report {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;

// Three sensors that share a ground, each with an expectation of its own.
class CommonPointTest : public testing::Test {
 protected:
  CommonPointTest() {
    bench_.splices = {"S_12V", "S_GND"};
    bench_.controller.emplace().sensor_grounds = {"ECU.3"};
    AddWire("ground", "ECU.3", "S_GND");
    for (const char* sensor : {"CLT", "IAT", "OLT"}) {
      const std::string name = sensor;
      AddWire(name + "_signal", name + ".1", "ECU.20");
      AddWire(name + "_ground", name + ".2", "S_GND");
      AddExpectation({name + "_signal", name + "_ground"});
    }
    report_.bench = &bench_;
    report_.scenario = &scenario_;
  }
  void AddWire(const std::string& circuit, const std::string& from, const std::string& to) {
    profile::Wire& wire = bench_.wires.emplace_back();
    wire.circuit = circuit;
    wire.from = from;
    wire.to = to;
  }
  void AddExpectation(std::vector<std::string> proves) {
    profile::Expectation& expectation = scenario_.expectations.emplace_back();
    expectation.proves = std::move(proves);
  }
  std::optional<CommonPoint> WithFailures(std::vector<int> failed) {
    report_.verdicts.clear();
    for (std::size_t i = 0; i < scenario_.expectations.size(); ++i) {
      check::Verdict& verdict = report_.verdicts.emplace_back();
      verdict.expectation = static_cast<int>(i);
      const bool has_failed = std::ranges::count(failed, static_cast<int>(i)) > 0;
      verdict.outcome = has_failed ? check::Outcome::kFailed : check::Outcome::kMet;
    }
    // As the study weighs it: with all three failed, their ground explains them; else each its own.
    report_.coverage.clear();
    for (const profile::Wire& wire : bench_.wires) {
      check::CircuitCoverage circuit{wire.circuit};
      const bool shared = failed.size() == scenario_.expectations.size();
      for (const int e : failed) {
        const auto& own = scenario_.expectations[static_cast<std::size_t>(e)].proves;
        const bool is_own = std::ranges::count(own, wire.circuit) > 0;
        const bool accused = shared ? wire.circuit == "ground" : is_own;
        if (accused) circuit.against.push_back({e, "step", 0, "", -1, "V"});
      }
      if (!circuit.against.empty()) circuit.state = check::CircuitState::kFailed;
      report_.coverage.push_back(std::move(circuit));
    }
    return CommonPointOf(report_);
  }
  profile::Bench bench_;
  profile::Scenario scenario_;
  Report report_;
};

TEST_F(CommonPointTest, IsTheSpliceBehindTheFeedThatExplainsThem) {
  const auto point = WithFailures({0, 1, 2});
  ASSERT_TRUE(point.has_value());
  EXPECT_EQ(point->splice, "S_GND");
  EXPECT_EQ(point->failures, 3u);
  EXPECT_THAT(point->feeds, ElementsAre("ground"));
  EXPECT_EQ(CommonPointInWords(report_, *point),
            "3 of the 3 failures come from one point: S_GND, behind ground. Look there first.");
  EXPECT_THAT(Terminal(report_, false, 100), HasSubstr("look at ground: ECU.3 to S_GND"));
  EXPECT_THAT(Html(report_), HasSubstr("come from one point: S_GND"));
  EXPECT_THAT(Json(report_), HasSubstr("\"common_point\""));
}

TEST_F(CommonPointTest, OneSensorThatWorksClearsIt) {
  EXPECT_FALSE(WithFailures({0, 1}).has_value());
  EXPECT_THAT(Terminal(report_, false, 100), Not(HasSubstr("one point")));
}

TEST_F(CommonPointTest, TwoFailuresAreNoCommonCause) {
  scenario_.expectations.pop_back();
  EXPECT_FALSE(WithFailures({0, 1}).has_value());
}

}  // namespace
}  // namespace drycrank::report
