// SPDX-License-Identifier: Apache-2.0
//
// A diagnosis after readings: one set of shares. The kart, the signal contact of its cylinder head
// sensor open. By hand: with the loop broken nothing flows, so 5 V at the plug's signal pin clear
// all that lies before it, and 0 V at its ground pin what lies behind; no bench gives -6 V.
#include "diagnose/after_readings.h"

#include <gtest/gtest.h>

#include <set>

#include "tests/diagnose/walked.h"

namespace drycrank::diagnose {
namespace {

class AfterReadingsTest : public testing::Test {
 protected:
  AfterReadingsTest()
      : predictor_(walked_.bench(), walked_.situations()), ranker_(walked_.bench(), predictor_) {
    profile::Fault open;
    open.kind = profile::fault::Open{};
    open.at = "HT.1";
    observed_ = walked_.Observe({open}, 3);
    diagnosis_ = ranker_.Rank(observed_, {.doubles = false});
    model_.emplace(walked_.bench(), predictor_, observed_);
  }

  AfterReadings After(const std::vector<std::pair<std::string, double>>& volts) {
    std::vector<Answered> answers;
    for (const auto& [node, value] : volts) {
      answers.push_back({Probing{Meter::kVolts, node, "", {}, model_->rest()}, value});
    }
    narrowed_ = Narrow(*model_, repairs_, diagnosis_, answers);
    return WithReadings(diagnosis_, narrowed_);
  }
  static std::set<std::string> Named(const Diagnosis& diagnosis) {
    std::set<std::string> all;
    for (const Group& group : diagnosis.groups) {
      for (const Candidate& member : group.members) {
        all.insert(member.hypothesis.kind + " " + member.hypothesis.faults[0].at);
      }
    }
    return all;
  }

  Walked walked_{"kart"};
  Predictor predictor_;
  Ranker ranker_;
  Observation observed_;
  Diagnosis diagnosis_;
  std::optional<MeasuredModel> model_;
  Repairs repairs_{walked_.bench()};
  Narrowed narrowed_;
};

TEST_F(AfterReadingsTest, WhatTheMeterClearedIsInNoGroup) {
  const AfterReadings after = After({{"HT.1~", 4.97}, {"HT.2~", 0.002}});
  const std::set<std::string> before = Named(diagnosis_), left = Named(after.diagnosis);
  for (const char* wire : {"wire open head_signal", "wire open head_ground"}) {
    EXPECT_TRUE(before.contains(wire));
    EXPECT_FALSE(left.contains(wire)) << wire;
  }
  EXPECT_TRUE(left.contains("contact open HT.1"));
  EXPECT_TRUE(after.diagnosis.explained);
  EXPECT_FALSE(after.cleared.empty());
}

TEST_F(AfterReadingsTest, ItsSharesAreThoseThatTheReadingsLeave) {
  const AfterReadings after = After({{"HT.1~", 4.97}});
  EXPECT_EQ(after.diagnosis.unknown_share, narrowed_.unknown_share);
  double all = after.diagnosis.unknown_share + after.diagnosis.healthy_share;
  for (const Group& group : after.diagnosis.groups) all += group.share;
  EXPECT_NEAR(all, 1, 0.02);  // what was cleared has the rest
  ASSERT_EQ(after.share_before.size(), after.diagnosis.groups.size());
  EXPECT_NEAR(after.share_before[0], 0.96, 0.01);
}

TEST_F(AfterReadingsTest, AReadingThatFitsNobodyClearsNobodyAndIsAgainstTheFirst) {
  const AfterReadings after = After({{"HT.1~", -6}});
  EXPECT_TRUE(after.cleared.empty());
  EXPECT_EQ(after.against_first, std::vector<std::size_t>{0});
  EXPECT_EQ(after.against.at(0), 1U);
  EXPECT_TRUE(diagnosis_.explained);
  EXPECT_FALSE(after.diagnosis.explained);
  EXPECT_GT(after.diagnosis.unknown_share, 5 * diagnosis_.unknown_share);
}

// The twin: without readings nothing moves.
TEST_F(AfterReadingsTest, WithoutReadingsItIsTheDiagnosis) {
  const AfterReadings after = After({});
  EXPECT_TRUE(after.cleared.empty());
  EXPECT_TRUE(after.diagnosis.explained);
  EXPECT_NEAR(after.diagnosis.groups.at(0).share, diagnosis_.groups.at(0).share, 0.01);
}

// As if the open contact had shown in no reading: what looks like a healthy bench is weighed by the meter too.
// The sensor has 5 kohm at 42 degC (its part's table), behind 2.2 kohm: 3.5 V of 5 V; open, 5 V.
class LikeHealthyTest : public AfterReadingsTest {
 protected:
  LikeHealthyTest() {
    Diagnosis healthy;
    healthy.healthy = true;
    healthy.healthy_share = 0.96, healthy.unknown_share = 0.04;
    for (const Candidate& member : diagnosis_.groups.at(0).members) {
      if (member.hypothesis.kind == "contact open" && member.hypothesis.faults[0].at == "HT.1") {
        healthy.like_healthy = {member};
      }
    }
    healthy.like_healthy.at(0).share = 0.2;
    diagnosis_ = std::move(healthy);
  }
};

TEST_F(LikeHealthyTest, WhatAHealthyBenchDoesNotGiveSpeaksForTheOther) {
  const AfterReadings after = After({{"HT.1~", 4.97}});
  EXPECT_FALSE(after.diagnosis.healthy);
  EXPECT_LT(after.diagnosis.healthy_share, 0.1);
  ASSERT_EQ(after.diagnosis.groups.size(), 1U);
  EXPECT_GT(after.diagnosis.groups[0].share, 0.8);
  EXPECT_NEAR(after.share_before.at(0), 0.2, 1e-9);
}

TEST_F(LikeHealthyTest, WhatAHealthyBenchGivesSpeaksAgainstTheOther) {
  const AfterReadings after = After({{"HT.1~", 3.5}});
  EXPECT_TRUE(after.diagnosis.healthy);
  for (const Candidate& like : after.diagnosis.like_healthy) EXPECT_LT(like.share, 0.02);
}

TEST_F(LikeHealthyTest, WithoutReadingsItStandsAsItStood) {
  const AfterReadings after = After({});
  ASSERT_EQ(after.diagnosis.like_healthy.size(), 1U);
  EXPECT_EQ(after.diagnosis.like_healthy[0].share, 0.2);
}

}  // namespace
}  // namespace drycrank::diagnose
