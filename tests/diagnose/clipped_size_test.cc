// SPDX-License-Identifier: Apache-2.0
//
// A thermistor's signal that touches the battery through some ohm: the controller says "signal high"
// whatever they are, up to where the cold thermistor is read again. The record knows no more of the size
// than that, and a meter does. What was read is the run's; volts by hand.
#include <gtest/gtest.h>

#include <cmath>

#include "diagnose/sized_answers.h"
#include "tests/diagnose/walked.h"

namespace drycrank::diagnose {
namespace {

class ClippedSize : public testing::Test {
 protected:
  profile::Fault ShortOf(double ohm) const {
    profile::Fault f;
    f.kind = profile::fault::ShortToSupply{ohm};
    f.at = "CLT.1";
    return f;
  }
  // As the first group has it.
  const Candidate* Found(double ohm) {
    truth_.faults = {ShortOf(ohm)};
    observed_ = walked_.Observe(truth_.faults, 0);
    diagnosis_ = Ranker(walked_.bench(), predictor_).Rank(observed_);
    if (diagnosis_.groups.empty()) return nullptr;
    for (const Candidate& member : diagnosis_.groups[0].members) {
      if (Holds({{member}, 0}, truth_)) return &member;
    }
    return nullptr;
  }
  // The ohms that this many volts at the plug speak for; less than 0: the reading is a slip.
  double SizeBy(const Candidate& candidate, double volts) {
    MeasuredModel model(walked_.bench(), predictor_, observed_);
    const Answered answer{Probing{Meter::kVolts, "CLT.1~", "", {}, model.rest()}, volts};
    const AnswersWeighed weighed =
        WeighAnswers(model, std::span(&answer, 1), candidate.hypothesis,
                     {candidate.size_spread, candidate.size_low, candidate.size_high});
    return weighed.log_like < model.LogLikelihoodOfSlip(answer) + std::log(2) ? -1 : weighed.value;
  }

  Walked walked_{"hill_climb"};
  Predictor predictor_{walked_.bench(), walked_.situations()};
  Hypothesis truth_;
  Observation observed_;
  Diagnosis diagnosis_;
};

TEST_F(ClippedSize, AShortAllOfWhoseSizesLookTheSameIsOneOfTheFirst) {
  for (const double ohm : {0.0, 40.0, 200.0}) EXPECT_NE(Found(ohm), nullptr) << ohm << " ohm";
}

// The thermistor has 12.5 kohm at 20 degC (its part's table), before it 5 V behind 2.2 kohm: with 200 ohm to
// 13.8 V (13.8 / 200 + 5 / 2200) / (1 / 200 + 1 / 2200 + 1 / 12500) = 12.88 V, with none 13.8 V.
TEST_F(ClippedSize, AMeterTellsTheSize) {
  const Candidate* found = Found(200);
  ASSERT_NE(found, nullptr);
  EXPECT_LT(found->size_low, 1);
  EXPECT_GT(found->size_high, 200);
  EXPECT_NEAR(SizeBy(*found, 12.88), 200, 60);
  EXPECT_GE(SizeBy(*found, 13.75), 0);
  EXPECT_LT(SizeBy(*found, 13.75), 30);
}

}  // namespace
}  // namespace drycrank::diagnose
