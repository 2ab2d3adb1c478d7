// SPDX-License-Identifier: Apache-2.0
//
// The boat's 5 V output with a limit: three pressure and throttle sensors share it, and one wire that
// touches ground takes it from all. By hand: each sensor draws 5 V / 1 kohm = 5 mA at most (the part's
// default), and drives nothing below 3.5 V. Of 100 mA a short of R has
//   V / R = 0.1 A - 3 V / 1 kohm
// left: 20 ohm 1.89 V, and 39 ohm 3.5 V. Without a limit 20 ohm leave 5 V x 20 / 20.3 = 4.93 V, which
// moves no ratiometric sensor.
#include <gtest/gtest.h>

#include <cmath>

#include "diagnose/electrical.h"
#include "diagnose/sized_answers.h"
#include "tests/diagnose/walked.h"

namespace drycrank::diagnose {
namespace {

profile::Bench BoatWith(double limit_ma) {
  profile::Bench bench =
      *profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/boat_v8.yaml").bench;
  bench.controller->references[0].limit_ma = limit_ma;
  return bench;
}

profile::Fault ShortOf(double ohm) {
  profile::Fault f;
  f.kind = profile::fault::ShortToGround{ohm};
  f.at = "TP.1";
  return f;
}

class LimitedReference : public testing::Test {
 protected:
  const Candidate* Found(const Hypothesis& truth, const Observation& observed) {
    diagnosis_ = Ranker(walked_.bench(), predictor_).Rank(observed);
    if (diagnosis_.groups.empty()) return nullptr;
    for (const Candidate& member : diagnosis_.groups[0].members) {
      if (Holds({{member}, 0}, truth)) return &member;
    }
    return nullptr;
  }
  static Hypothesis Truth(double ohm) {
    Hypothesis truth;
    truth.faults = {ShortOf(ohm)};
    return truth;
  }

  Walked walked_{BoatWith(100)};
  Predictor predictor_{walked_.bench(), walked_.situations()};
  Diagnosis diagnosis_;
};

TEST_F(LimitedReference, AShortOfOneWirePullsAllItsSensorsDown) {
  const HealthyElectrical healthy(walked_.bench(), walked_.situations());
  ElectricalModel model(walked_.bench(), healthy, std::vector{ShortOf(20)});
  const std::size_t last = walked_.situations().size() - 1;
  const Electrical found = model.SolveIn(last);
  EXPECT_NEAR(found.reference_v[0], 1.89, 0.03);
  int low = 0;
  const auto& inputs = walked_.bench().controller->inputs;
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    const bool shares = inputs[i].terminal == "EC.15" || inputs[i].terminal == "EC.16" ||
                        inputs[i].terminal == "EC.20";
    if (shares && found.input_v[i] < 0.25 && healthy.at(last).input_v[i] > 0.45) ++low;
  }
  EXPECT_EQ(low, 3);
}

TEST_F(LimitedReference, ItsShortIsNamedUpToWhereTheLimitIsReached) {
  const Hypothesis truth = Truth(20);
  const Candidate* found = Found(truth, walked_.Observe(truth.faults, 0));
  ASSERT_NE(found, nullptr);
  EXPECT_LT(found->size_low, 1);
  EXPECT_GT(found->size_high, 25);
  EXPECT_LT(found->size_high, 60);  // 5 V / 85 mA: no limit any more
}

// 1.89 V without a limit are 0.12 ohm: (5 - 1.89) V / 0.2 ohm = 15.6 A.
TEST_F(LimitedReference, AMeterTellsItsSizeByTheLimit) {
  const Hypothesis truth = Truth(20);
  const Observation observed = walked_.Observe(truth.faults, 0);
  const Candidate* found = Found(truth, observed);
  ASSERT_NE(found, nullptr);
  MeasuredModel model(walked_.bench(), predictor_, observed);
  const Answered answer{Probing{Meter::kVolts, "TP.1~", "", {}, model.rest()}, 1.89};
  const AnswersWeighed weighed =
      WeighAnswers(model, std::span(&answer, 1), found->hypothesis,
                   {found->size_spread, found->size_low, found->size_high});
  EXPECT_NEAR(weighed.value, 20, 2);
}

// The twin: of an output that gives what it is asked for, 20 ohm take nothing.
TEST(FreeReference, TwentyOhmAreNotSeen) {
  Walked walked(BoatWith(0));
  Predictor predictor(walked.bench(), walked.situations());
  const Observation observed = walked.Observe({ShortOf(20)}, 0);
  EXPECT_TRUE(Ranker(walked.bench(), predictor).Rank(observed).groups.empty());
}

}  // namespace
}  // namespace drycrank::diagnose
