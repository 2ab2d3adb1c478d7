// SPDX-License-Identifier: Apache-2.0
//
// A bad contact that comes and goes: 800 ohm before the kart's cylinder head sensor in six of its steps, in
// the others none. What was read is the run's.
#include <gtest/gtest.h>

#include "diagnose/rank.h"
#include "tests/diagnose/walked.h"

namespace drycrank::diagnose {
namespace {

class ComingOhms : public testing::Test {
 protected:
  Diagnosis Of(const std::vector<std::string>& during) {
    truth_.faults = {profile::Fault{}};
    truth_.faults[0].kind = profile::fault::SeriesResistance{800};
    truth_.faults[0].at = "HT.1";
    truth_.faults[0].during = during;
    return Ranker(walked_.bench(), predictor_).Rank(walked_.Observe(truth_.faults, 5));
  }

  Walked walked_{"kart"};
  Predictor predictor_{walked_.bench(), walked_.situations()};
  Hypothesis truth_;
};

TEST_F(ComingOhms, AreNamedWithTheirSizeAndSteps) {
  const std::vector<std::string> during = {"at_rest",      "head_middle",     "exhaust_low",
                                           "exhaust_high", "throttle_middle", "axle_low"};
  const Diagnosis diagnosis = Of(during);
  ASSERT_TRUE(diagnosis.explained);
  const Group& first = diagnosis.groups.at(0);
  ASSERT_TRUE(Holds(first, truth_)) << Describe(walked_.bench(), first.members[0].hypothesis);
  EXPECT_EQ(first.members[0].hypothesis.kind, "comes and goes");
  EXPECT_EQ(first.members[0].hypothesis.faults[0].during, during);
  EXPECT_NEAR(first.members[0].hypothesis.value, 800, 80);
}

// The twin: what stays is not said to come and go.
TEST_F(ComingOhms, WhatStaysIsNotSaidToComeAndGo) {
  const Diagnosis diagnosis = Of({});
  const Group& first = diagnosis.groups.at(0);
  EXPECT_TRUE(Holds(first, truth_));
  for (const Candidate& member : first.members) EXPECT_NE(member.hypothesis.kind, "comes and goes");
}

}  // namespace
}  // namespace drycrank::diagnose
