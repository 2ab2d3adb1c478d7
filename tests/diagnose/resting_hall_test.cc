// SPDX-License-Identifier: Apache-2.0
//
// The kart with its wheels turned so that they stand with a tooth before each Hall sensor: both
// conduct at rest. Beyond a sensor ground that is open, what they draw from their pull-ups at the
// controller lifts the throttle's ground, and what is read of it, by less than a tenth of a volt.
// What was read is the run's: waves in time, and not the prediction.
#include <gtest/gtest.h>

#include "diagnose/rank.h"
#include "profile/load.h"
#include "tests/diagnose/walked.h"

namespace drycrank::diagnose {
namespace {

profile::Bench WithTeethBeforeTheSensors() {
  profile::Bench bench = *profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/kart.yaml").bench;
  for (profile::Trigger& trigger : bench.triggers) trigger.offset_deg = 355;
  for (profile::TriggerChannel& channel : bench.controller->triggers) channel.offset_deg = 355;
  return bench;
}

class RestingHall : public testing::Test {
 protected:
  RestingHall() { open_.kind = profile::fault::Open{}, open_.at = "CU.3"; }

  Walked walked_{WithTeethBeforeTheSensors()};
  Predictor predictor_{walked_.bench(), walked_.situations()};
  profile::Fault open_;
};

TEST_F(RestingHall, MovesWhatSharesItsGround) {
  const Observation seen = walked_.Observe({open_}, 0);
  const PredictedRows predicted = predictor_.Predict(std::vector{open_});
  for (std::size_t r = 0; r < seen[0].size(); ++r) {
    const Reading& reading = predictor_.readings()[r];
    EXPECT_EQ(predicted[0][r].Distance(seen[0][r]), 0) << reading.name;
    // Two volts of pull-up behind 2.2 kohm are not more than a band of a few per cent.
    EXPECT_LT(predicted[0][r].high() - predicted[0][r].low(), 4) << reading.name;
  }
}

TEST_F(RestingHall, AnOpenSensorGroundIsNamedAndNothingBesideIt) {
  const Observation seen = walked_.Observe({open_}, 0);
  Ranker ranker(walked_.bench(), predictor_);
  const Diagnosis diagnosis = ranker.Rank(seen);
  ASSERT_FALSE(diagnosis.groups.empty());
  Hypothesis truth;
  truth.faults = {open_};
  EXPECT_TRUE(Holds(diagnosis.groups[0], truth))
      << Describe(walked_.bench(), diagnosis.groups[0].members[0].hypothesis);
}

// Its output at the battery, the transistor takes half an ampere through the sensor ground in half of each
// turn: the neighbours are read a little off, at one end or at the other.
TEST(SwitchingHall, AShortOfItsOutputIsOneFault) {
  Walked walked("generator");
  Predictor predictor(walked.bench(), walked.situations());
  Hypothesis truth;
  truth.faults.emplace_back().kind = profile::fault::ShortToSupply{};
  truth.faults[0].at = "SPD.3";
  const Diagnosis diagnosis =
      Ranker(walked.bench(), predictor).Rank(walked.Observe(truth.faults, 0));
  ASSERT_FALSE(diagnosis.groups.empty());
  const Candidate& first = diagnosis.groups[0].members[0];
  EXPECT_EQ(first.hypothesis.faults.size(), 1u) << Describe(walked.bench(), first.hypothesis);
  EXPECT_TRUE(Holds(diagnosis.groups[0], truth));
}

// The 5 V of the throttle feeds the Hall sensor's output: of the head temperature a narrow band is
// predicted, and a sensor with an error of its own moves it as it would a value.
TEST(SwitchingHall, ABandMovesWithItsSensor) {
  Walked walked("kart");
  Predictor predictor(walked.bench(), walked.situations());
  Hypothesis truth;
  truth.faults.emplace_back().kind = profile::fault::TerminalsSwapped{};
  truth.faults[0].at = "CU.4", truth.faults[0].with = "CU.5";
  const Diagnosis diagnosis =
      Ranker(walked.bench(), predictor).Rank(walked.Observe(truth.faults, 38));
  ASSERT_FALSE(diagnosis.groups.empty());
  double share = 0;
  for (const Candidate& member : diagnosis.groups[0].members) {
    if (Holds({{member}, 0}, truth)) share += member.share;
  }
  EXPECT_GT(share, 0.05);  // the pins CU.5 and CU.10 exchanged give the same readings
}

}  // namespace
}  // namespace drycrank::diagnose
