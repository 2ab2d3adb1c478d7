// SPDX-License-Identifier: Apache-2.0
#include "diagnose/rank.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "diagnose/next_test.h"
#include "tests/diagnose/walked.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;
using profile::Fault;

Fault Make(const profile::FaultKind& kind, const std::string& at, const std::string& with = "") {
  Fault fault;
  fault.kind = kind;
  fault.name = at;
  fault.at = at;
  fault.with = with;
  return fault;
}

class RankTest : public testing::Test {
 protected:
  Diagnosis Diagnose(const std::vector<Fault>& faults, bool doubles = false,
                     std::uint64_t seed = 3) {
    observed_ = walked_.Observe(faults, seed);
    return ranker_.Rank(observed_, {.doubles = doubles});
  }
  static std::vector<std::string> Places(const Group& group) {
    std::vector<std::string> places;
    for (const Candidate& member : group.members) places.push_back(member.hypothesis.faults[0].at);
    return places;
  }

  Walked walked_{"hill_climb"};
  Predictor predictor_{walked_.bench(), walked_.situations()};
  Ranker ranker_{walked_.bench(), predictor_};
  Observation observed_;
};

TEST_F(RankTest, HealthyBenchNeedsNoFault) {
  for (std::uint64_t seed = 1; seed <= 5; ++seed) EXPECT_TRUE(Diagnose({}, false, seed).healthy);
}

// A series circuit broken anywhere looks the same from outside: sensor, both wires, all contacts.
TEST_F(RankTest, BreaksOfOneLoopAreOneGroup) {
  const Diagnosis diagnosis = Diagnose({Make(fault::Open{}, "IAT.1")});
  ASSERT_TRUE(diagnosis.explained);
  const std::vector<std::string> places = Places(diagnosis.groups[0]);
  for (const char* place : {"IAT.1", "IAT.2", "air_signal", "air_ground", "ECU.21", "air"}) {
    EXPECT_GE(std::count(places.begin(), places.end(), place), 1) << place;
  }
  EXPECT_GT(diagnosis.groups[0].share, 0.9);
}

// 400 ohm in a contact of the coolant sensor: found, and its size to a tenth.
TEST_F(RankTest, ResistanceIsFoundAndMeasured) {
  const Fault corroded = Make(fault::SeriesResistance{400}, "CLT.1");
  const Diagnosis diagnosis = Diagnose({corroded}, false, 0);
  ASSERT_FALSE(diagnosis.groups.empty());
  const Hypothesis& best = diagnosis.groups[0].members[0].hypothesis;
  EXPECT_EQ(best.kind, "series resistance");
  const std::vector<std::string> loop = {"CLT.1", "CLT.2", "ECU.20"};
  EXPECT_EQ(std::count(loop.begin(), loop.end(), best.faults[0].at), 1) << best.faults[0].at;
  EXPECT_NEAR(best.value, 400, 40);
}

TEST_F(RankTest, SharedGroundIsOneFaultAndNotNine) {
  const Diagnosis diagnosis = Diagnose({Make(fault::Open{}, "sensor_ground")});
  ASSERT_TRUE(diagnosis.explained);
  const std::vector<std::string> places = Places(diagnosis.groups[0]);
  EXPECT_EQ(std::count(places.begin(), places.end(), "sensor_ground"), 1);
  EXPECT_GE(std::count(places.begin(), places.end(), "ECU.3"), 1);
}

TEST_F(RankTest, CluesSayWhatSpeaksForIt) {
  const Diagnosis diagnosis = Diagnose({Make(fault::Open{}, "CLT.1")});
  const Candidate& best = diagnosis.groups[0].members[0];
  EXPECT_GT(ranker_.For(diagnosis, best, observed_).size(), 10u);
  EXPECT_TRUE(ranker_.Against(diagnosis, best, observed_).empty());
}

// Signal side or ground side: a meter at the plug tells, and nothing on the bus can.
TEST_F(RankTest, NextTestSplitsTheGroup) {
  const Diagnosis diagnosis = Diagnose({Make(fault::Open{}, "CLT.1")});
  MeasuredModel model(walked_.bench(), predictor_, observed_);
  const Narrowed narrowed = Narrow(model, Repairs(walked_.bench()), diagnosis, {});
  const auto tests = NextTests(model, narrowed, {}, 3);
  ASSERT_FALSE(tests.empty());
  const auto* probing = std::get_if<Probing>(&tests[0].test);
  ASSERT_NE(probing, nullptr);
  EXPECT_EQ(probing->meter, Meter::kVolts);
  EXPECT_GT(tests[0].information, 0.8);  // of one bit for an even split
}

TEST_F(RankTest, TwoFaultsAreFoundWhenNoSingleOneExplains) {
  const std::vector<Fault> both = {Make(fault::Open{}, "CLT.1"),
                                   Make(fault::Open{}, "oil_pressure_signal")};
  EXPECT_FALSE(Diagnose(both, false).explained);
  const Diagnosis diagnosis = Diagnose(both, true);
  ASSERT_TRUE(diagnosis.explained);
  EXPECT_EQ(diagnosis.groups[0].members[0].hypothesis.faults.size(), 2u);
}

// Faults that no hypothesis is: the answer must be "none of these", never a confident wrong wire.
TEST_F(RankTest, UnknownFaultsAreExplainedByNone) {
  const std::vector<std::vector<Fault>> unknown = {
      {Make(fault::GroundOffset{0.8}, "CLT.2")},
      {Make(fault::GroundOffset{0.6}, "MAP.2")},
      {Make(fault::GroundOffset{0.7}, "ECU.3")},
      {Make(fault::Leakage{4700}, "ECU.20", "ECU.4")},
      {Make(fault::Leakage{2200}, "ECU.20", "ECU.23")},
      {Make(fault::Leakage{3300}, "ECU.22")},
      {Make(fault::ShortTogether{0.1}, "ECU.20", "ECU.25")},
      {Make(fault::ShortTogether{0.1}, "ECU.21", "ECU.24")},
      {Make(fault::Calibration{0.6, 45}, "coolant_temperature")},
      {Make(fault::Calibration{-1, 100}, "throttle")},
      {Make(fault::Layout{{}, {}, {}, 24}, "engine_temps.oil_temperature")},
      {Make(fault::Layout{{}, 3, 17, {}}, "engine_temps.coolant")},
  };
  for (const std::vector<Fault>& faults : unknown) {
    const Diagnosis diagnosis = Diagnose(faults);
    EXPECT_FALSE(diagnosis.healthy) << faults[0].at;
    if (!diagnosis.groups.empty()) {
      EXPECT_FALSE(diagnosis.explained)
          << profile::Name(faults[0].kind) << " " << faults[0].at << " taken for "
          << Describe(walked_.bench(), diagnosis.groups[0].members[0].hypothesis);
    }
  }
}

}  // namespace
}  // namespace drycrank::diagnose
