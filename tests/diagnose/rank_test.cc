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

// A chafe between any two wires of a plug and a leak through any resistance are on the list.
TEST_F(RankTest, ChafesAndLeaksAreNamed) {
  const std::vector<Fault> chafes = {Make(fault::Leakage{4700}, "ECU.4", "ECU.20"),
                                     Make(fault::Leakage{2200}, "ECU.20", "ECU.23"),
                                     Make(fault::ShortTogether{0.1}, "ECU.20", "ECU.25"),
                                     Make(fault::ShortTogether{0.1}, "ECU.21", "ECU.24")};
  for (const Fault& chafe : chafes) {
    const Diagnosis diagnosis = Diagnose({chafe});
    ASSERT_FALSE(diagnosis.groups.empty()) << chafe.at;
    const Fault& best = diagnosis.groups[0].members[0].hypothesis.faults[0];
    EXPECT_EQ(best.at, chafe.at);
    EXPECT_EQ(best.with, chafe.with);
    EXPECT_TRUE(diagnosis.explained) << chafe.at;
  }
}

// Faults that no hypothesis is: "none of these", or the right place; never a confident wrong wire.
TEST_F(RankTest, UnknownFaultsAreExplainedByNoOtherPlace) {
  struct Unknown {
    Fault fault;
    std::vector<std::string> right;  // places that a fitter would be sent to
  };
  const std::vector<Unknown> unknown = {
      {Make(fault::GroundOffset{0.8}, "CLT.2"), {"CLT.1", "CLT.2", "ECU.20"}},
      {Make(fault::GroundOffset{0.6}, "MAP.2"), {"MAP.2"}},
      {Make(fault::Calibration{0.6, 45}, "coolant_temperature"), {"coolant_temperature"}},
      {Make(fault::Calibration{-1, 100}, "throttle"), {"throttle"}},
      {Make(fault::Layout{{}, {}, {}, 24}, "engine_temps.oil_temperature"),
       {"engine_temps.oil_temperature"}},
      {Make(fault::Layout{{}, 3, 17, {}}, "engine_temps.coolant"), {"engine_temps.coolant"}},
  };
  for (const auto& [fault, right] : unknown) {
    const Diagnosis diagnosis = Diagnose({fault});
    EXPECT_FALSE(diagnosis.healthy) << fault.at;
    if (!diagnosis.explained) continue;
    const std::vector<std::string> places = Places(diagnosis.groups[0]);
    EXPECT_TRUE(std::ranges::any_of(
        places, [&](const std::string& place) { return std::ranges::count(right, place) > 0; }))
        << profile::Name(fault.kind) << " " << fault.at << " taken for "
        << Describe(walked_.bench(), diagnosis.groups[0].members[0].hypothesis);
  }
}

}  // namespace
}  // namespace drycrank::diagnose
