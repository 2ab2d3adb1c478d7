// SPDX-License-Identifier: Apache-2.0
//
// A diagnosis as a page: what it must show, and that it is markup. The bench and its fault are the
// kart's; the readings are predicted, not played.
#include "report/diagnosis.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profile/load.h"
#include "profile/state_names.h"

namespace drycrank::report {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

class DiagnosisPage : public testing::Test {
 protected:
  DiagnosisPage() {
    for (const double temperature : {20.0, 120.0, 20.0}) {
      diagnose::Situation situation = diagnose::RestOf(*bench_);
      situation.name = "head_" + std::to_string(situations_.size()) + " & more";
      const int head = profile::IndexOf(bench_->stimuli, "head_temperature");
      situation.stimuli[static_cast<std::size_t>(head)] = temperature;
      situations_.push_back(situation);
    }
  }

  std::string PageOf(const std::vector<profile::Fault>& faults) {
    diagnose::Predictor predictor(*bench_, situations_);
    diagnose::Ranker ranker(*bench_, predictor);
    const diagnose::Observation observed = diagnose::AsSeen(predictor.Predict(faults));
    const diagnose::Diagnosis diagnosis = ranker.Rank(observed);
    DiagnosisReport report;
    report.bench = &*bench_;
    report.situations = &predictor.situations();
    report.readings = &predictor.readings();
    report.diagnosis = &diagnosis;
    report.observed = &observed;
    report.record = "out/walk";
    if (!diagnosis.groups.empty()) {
      report.clues_for = ranker.For(diagnosis, diagnosis.groups[0].members[0], observed);
    }
    return DiagnosisHtml(report);
  }

  std::optional<profile::Bench> bench_ =
      profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/kart.yaml").bench;
  std::vector<diagnose::Situation> situations_;
};

TEST_F(DiagnosisPage, ShowsTheWireTheCurvesAndTheCautions) {
  profile::Fault open;
  open.kind = profile::fault::Open{};
  open.at = "HT.1";
  const std::string page = PageOf({open});
  EXPECT_THAT(page, HasSubstr("Where to look: the suspect wires, marked"));
  EXPECT_THAT(page, HasSubstr("all.head, °C"));
  EXPECT_THAT(page, Not(HasSubstr("degC")));
  EXPECT_THAT(page, HasSubstr("class=\"first\""));
  EXPECT_THAT(page, HasSubstr("class=\"seen\""));
  EXPECT_THAT(page, HasSubstr("head_1 &amp; more"));
  EXPECT_THAT(page, HasSubstr("id=\"cautions\""));
}

// 96 % below a headline that has 4 % for something else is no "none of the faults".
TEST(NoneExplains, AgreesWithTheShareOfTheFirst) {
  diagnose::Diagnosis d;
  d.groups.emplace_back().share = 0.96;
  d.unknown_share = 0.04;
  EXPECT_TRUE(LeavesSome(d));
  EXPECT_THAT(NoneExplains(d), Not(HasSubstr("None of the faults")));
  d.groups[0].share = 0.3, d.unknown_share = 0.7;
  EXPECT_FALSE(LeavesSome(d));
  EXPECT_THAT(NoneExplains(d), HasSubstr("None of the faults on the list explains all readings "
                                         "(something else: 70 %)"));
  // Each of them a little off: "none explains" above "against: no reading" would contradict itself.
  d.groups[0].members.emplace_back().surprises = 0;
  EXPECT_THAT(NoneExplains(d), Not(HasSubstr("None of the faults")));
  EXPECT_THAT(NoneExplains(d), AllOf(HasSubstr("(something else: 70 %)"), HasSubstr("no one reading says why")));
  d.groups[0].members[0].surprises = 1;
  EXPECT_THAT(NoneExplains(d), HasSubstr("None of the faults"));
}

// By hand: a deviation of 0.5 has its first digit in the tenths; a tenth of that is 0.01.
TEST(InWords, WhatLiesBelowTheDeviationIsNotSaid) {
  diagnose::Reading reading;
  reading.unit = "km/h";
  reading.sigma = 0.5;
  EXPECT_EQ(diagnose::InWords(reading, -0.001276), "0 km/h");
  EXPECT_EQ(diagnose::InWords(reading, 0.004), "0 km/h");
  EXPECT_EQ(diagnose::InWords(reading, 57.236), "57.24 km/h");
  reading.discrete = true;
  EXPECT_EQ(diagnose::InWords(reading, 3), "3 km/h");
}

TEST(InWords, AStateOfTheStandInsHasItsWordWithoutTheBench) {
  profile::Signal signal;
  signal.carries = "sync_state";
  diagnose::Reading reading;
  reading.unit = "degC";
  EXPECT_EQ(diagnose::InWords(reading, 2), "2 °C");
  for (const auto& [raw, name] : profile::NamesOfValues(signal)) {
    reading.names[static_cast<double>(raw)] = name;
  }
  EXPECT_EQ(diagnose::InWords(reading, 2), "2 (position known)");
  EXPECT_EQ(diagnose::InWords(reading, 2.5), "2.5 °C");
  signal.values = {{2, "half"}};
  EXPECT_EQ(profile::NamesOfValues(signal).at(2), "half");
}

// The twin: nothing wrong, nothing to point at.
TEST_F(DiagnosisPage, OfAHealthyBenchPointsAtNothing) {
  const std::string page = PageOf({});
  EXPECT_THAT(page, HasSubstr("Nothing to explain"));
  EXPECT_THAT(page, Not(HasSubstr("Where to look")));
  EXPECT_THAT(page, HasSubstr("id=\"cautions\""));
}

// The readings are a healthy bench's, an expectation failed: what may have done it is named.
TEST_F(DiagnosisPage, NamesTheNearestFaultWhereSomethingFailed) {
  profile::Fault late;
  late.kind = profile::fault::WheelOffset{3};
  late.at = "teeth";
  diagnose::Candidate wheel;
  wheel.hypothesis.faults = {late};
  diagnose::Diagnosis diagnosis;
  diagnosis.healthy = true;
  diagnosis.groups.push_back({});
  diagnosis.groups[0].members.push_back(wheel);
  DiagnosisReport report;
  report.bench = &*bench_;
  report.diagnosis = &diagnosis;
  report.failed.push_back({"fires_at", "3.0° late", "it is about degrees"});
  diagnosis.groups[0].share = 0.17;
  EXPECT_THAT(DiagnosisText(report), HasSubstr("17 %  wheel teeth mounted 3 crank degrees late"));
  diagnosis.groups[0].share = 0.01;
  EXPECT_THAT(DiagnosisText(report), Not(HasSubstr("wheel teeth")));
  diagnosis.groups[0].share = 0.17;
  report.failed.clear();
  EXPECT_THAT(DiagnosisText(report), Not(HasSubstr("wheel teeth")));
}

// What one expectation that failed is said to be about, another of some outcome beside it.
std::string FirstToLookAt(const profile::ExpectationKind& failed, check::Outcome how,
                          check::Outcome sparks) {
  profile::Scenario scenario;
  scenario.expectations.resize(2);
  scenario.expectations[0].kind = failed;
  scenario.expectations[1].kind = profile::expect::FiresAt{};
  std::vector<check::Verdict> verdicts(2);
  verdicts[0].outcome = how;
  verdicts[1].expectation = 1;
  verdicts[1].outcome = sparks;
  return FailedExpectations(scenario, verdicts, {}).at(0).why_not;
}

TEST(FailedExpectations, AWheelThatIsOffIsNamed) {
  profile::expect::CamEdges edges;
  edges.cam = "reference";
  using enum check::Outcome;
  EXPECT_THAT(FirstToLookAt(edges, kFailed, kMet), HasSubstr("first at the wheel of reference"));
  EXPECT_THAT(FirstToLookAt(edges, kFailed, kFailed), HasSubstr("first at the crank wheel"));
  EXPECT_THAT(FirstToLookAt(edges, kFailed, kNotObservable), Not(HasSubstr("sparks come right")));
}

TEST(FailedExpectations, TrailingCoilsThatNeverFireAreASetting) {
  profile::expect::FiresAt fires;
  fires.plug = profile::expect::Plug::kTrailing;
  using enum check::Outcome;
  EXPECT_THAT(FirstToLookAt(fires, kNotObserved, kMet), HasSubstr("trailing_deg"));
  EXPECT_THAT(FirstToLookAt(fires, kFailed, kMet), Not(HasSubstr("trailing_deg")));
}

}  // namespace
}  // namespace drycrank::report
