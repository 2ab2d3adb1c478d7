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

}  // namespace
}  // namespace drycrank::report
