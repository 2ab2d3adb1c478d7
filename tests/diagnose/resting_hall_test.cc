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

}  // namespace
}  // namespace drycrank::diagnose
