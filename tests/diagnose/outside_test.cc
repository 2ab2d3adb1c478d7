// SPDX-License-Identifier: Apache-2.0
//
// Diagnoses of worlds that the diagnosis does not know (outside_world.h). The whole is
// tests/bench/diagnosis_bench; its tables stand in hw-notes/reading-a-diagnosis.md.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <span>
#include <variant>

#include "diagnose/predict.h"
#include "tests/diagnose/outside_runs.h"

namespace drycrank::diagnose {
namespace {

// Two reckonings of the same drawing: each value within a step of its frame and 0.2 % of the other.
TEST(Outside, AHealthyBenchIsPredictedAsReckonedByHand) {
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    const profile::Bench bench = DrawnBench(seed);
    const OutsideWorld world(bench);
    const Predictor predictor(bench, world.situations());
    for (std::size_t s = 0; s < world.situations().size(); ++s) {
      for (std::size_t r = 0; r < world.readings().size(); ++r) {
        const double value = world.healthy().value[s][r];
        const Prediction& predicted = predictor.healthy()[s][r];
        ASSERT_FALSE(std::isnan(value) || predicted.is_none()) << seed;
        const auto& signal = profile::SignalAt(bench, world.readings()[r].signal);
        const double within = (signal.is_float ? 0 : signal.scale) + 0.002 * std::abs(value) + 0.01;
        EXPECT_LE(predicted.Distance(value), world.readings()[r].discrete ? 0 : within)
            << "seed " << seed << ", " << world.readings()[r].name << " in "
            << world.situations()[s].name;
      }
    }
  }
}

// ngspice and the tests' own Gauss see the same world.
TEST(Outside, NgspiceReportsTheSame) {
  for (std::uint64_t seed = 1; seed <= 3; ++seed) {
    const profile::Bench bench = DrawnBench(seed);
    const OutsideWorld world(bench);
    Random random(seed, 1);
    const Truth truth = DrawTruth(bench, random);
    Random noise(seed, 2), same_noise(seed, 2);
    const Observation ours = world.Observe(truth, {}, noise);
    const Observation theirs = world.Observe(truth, {}, same_noise, support::SolvedBy::kNgspice);
    for (std::size_t s = 0; s < ours.size(); ++s) {
      for (std::size_t r = 0; r < ours[s].size(); ++r) {
        if (std::isnan(ours[s][r])) {
          EXPECT_TRUE(std::isnan(theirs[s][r]));
          continue;
        }
        const auto& signal = profile::SignalAt(bench, world.readings()[r].signal);
        EXPECT_NEAR(ours[s][r], theirs[s][r], signal.is_float ? 1e-3 : 1.01 * signal.scale) << seed;
      }
    }
  }
}

// 8 ohm before all that the controller draws, supply_ohm; sensors, wires and contacts move it by less
// than 2 %.
TEST(Outside, ACorrodedPinLowersTheSupply) {
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    const profile::Bench bench = DrawnBench(seed);
    const profile::Controller& controller = *bench.controller;
    if (!controller.more_supplies.empty() || !bench.loads.empty()) continue;
    support::Departure corroded;
    CorrodedPin(controller.supply, 8).put_in(corroded, 0);
    const std::vector<double> rest = RestOf(bench).stimuli;
    const double before_v = support::VoltsOf(bench, {}, rest).supply_v;
    const double after_v = support::VoltsOf(bench, corroded, rest).supply_v;
    EXPECT_NEAR(after_v / before_v, controller.supply_ohm / (controller.supply_ohm + 8), 0.02);
  }
}

// What a truth names, and what not.
TEST(Outside, OnlyTheSameKindAtTheSamePlaceIsNamed) {
  const Deviation pin = CorrodedPin("ECU1.3", 4);
  profile::Fault fault;
  fault.kind = profile::fault::SeriesResistance{9};
  fault.at = "ECU1.3";
  EXPECT_TRUE(Names(fault, pin));
  fault.at = "ECU1.4";
  EXPECT_FALSE(Names(fault, pin));
  fault.kind = profile::fault::Open{};
  fault.at = "ECU1.3";
  EXPECT_FALSE(Names(fault, pin));
  Candidate both;
  both.hypothesis.faults = {fault, fault};
  EXPECT_FALSE(NamesAll(both, {TruthGroup::kCorrodedPin, {pin}}));
}

// 8 ohm in a pin is told from 4 ohm and from health, and agrees with itself on a bench with a supply
// half a volt off.
TEST(Outside, AgreesWithItselfAndWithNoOtherSize) {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    const profile::Bench bench = DrawnBench(seed);
    const profile::Controller& controller = *bench.controller;
    const bool one_ground = controller.more_grounds.empty() && controller.sensor_grounds.empty();
    if (!one_ground || bench.sensors.size() < 5) continue;
    const OutsideWorld world(bench);
    const auto with = [&](double ohm) {
      return Truth{TruthGroup::kCorrodedPin, {CorrodedPin(controller.ground, ohm)}};
    };
    const CleanRows eight = world.Clean(with(8)), twenty = world.Clean(with(20));
    EXPECT_TRUE(Agree(world.readings(), eight, AsPredicted(eight.value)));
    EXPECT_FALSE(Agree(world.readings(), eight, AsPredicted(twenty.value))) << seed;
  }
}

Candidate ThatSays(Predictor& predictor, const profile::FaultKind& kind, const std::string& at) {
  Candidate candidate;
  profile::Fault& fault = candidate.hypothesis.faults.emplace_back();
  fault.kind = kind;
  fault.at = at;
  // As fitted: with sensors off by more than the judge would let pass.
  candidate.predicted = predictor.Predict(candidate.hypothesis.faults);
  for (Predictions& row : candidate.predicted) {
    for (Prediction& p : row) {
      if (p.is_value()) p = Prediction::Value(p.low() * 1.05 + 2);
    }
  }
  return candidate;
}

// A thermistor that is not fitted and one whose contact is open report the same, whatever supply and
// sensors were fitted with the answer; another sensor that is not fitted does not.
TEST(Outside, AnAnswerIsJudgedByWhatItGivesOnTheBenchAsDrawn) {
  int judged = 0;
  for (std::uint64_t seed = 1; seed <= 40 && judged < 5; ++seed) {
    const profile::Bench bench = DrawnBench(seed);
    const auto* one = std::get_if<profile::NtcSensor>(&bench.sensors[0].model);
    if (one == nullptr) continue;
    ++judged;
    const std::string plus = one->plus;
    const Truth truth{TruthGroup::kSingle,
                      {{"contact open",
                        "contact open at " + plus,
                        {{plus}},
                        {"open"},
                        [=](support::Departure& d, std::size_t) { d.cut.contacts.insert(plus); }}}};
    const OutsideWorld world(bench);
    const CleanRows clean = world.Clean(truth);
    Predictor predictor(bench, world.situations());
    const Measure measure{bench, world.readings(), world.healthy(), clean, predictor};
    const auto is_right = [&](const std::string& missing) {
      Diagnosis diagnosis;
      diagnosis.explained = true;
      diagnosis.groups.resize(1);
      diagnosis.groups[0].members = {ThatSays(predictor, profile::fault::NotFitted{}, missing)};
      return Judged(measure, truth, diagnosis).right;
    };
    EXPECT_TRUE(is_right(bench.sensors[0].name)) << seed;
    EXPECT_FALSE(is_right(bench.sensors[1].name)) << seed;
  }
  EXPECT_EQ(judged, 5);
}

// Half a per cent of each reading's shift, taken as independent, was a nat a reading against the
// truth: a leak, and a shorted switch, that "nothing on the list" explained better.
TEST(Outside, ManyReadingsThatAllMoveSpeakForTheirFault) {
  for (const std::uint64_t seed : {10002, 10156}) {
    const OutsideRun run = RunOutside(seed);
    ASSERT_EQ(run.group, TruthGroup::kSingle);
    EXPECT_TRUE(run.answered.right) << run.truth << ": " << run.answered.words;
  }
}

TEST(Outside, APartOfAnotherCurveIsSaidToBeOne) {
  for (const std::uint64_t seed : {10009, 10017, 10167}) {
    const OutsideRun run = RunOutside(seed);
    ASSERT_EQ(run.kind, "another curve");
    EXPECT_TRUE(run.answered.right) << run.truth << ": " << run.answered.words;
    EXPECT_NE(run.answered.words.find("another curve"), std::string::npos) << run.answered.words;
  }
}

// Seeds of these kinds, drawn: a 5 V output that is off, what comes and goes, another curve, and each
// beside another fault in a channel of its own.
TEST(Outside, WhatSpoilsAChannelOfItsOwnIsNamedBesideAnother) {
  for (const std::uint64_t seed : {13, 54, 62, 79, 90}) {
    const OutsideRun run = RunOutside(seed);
    EXPECT_TRUE(run.answered.right) << run.truth << ": " << run.answered.words;
    EXPECT_EQ(run.answered.what, Answered::What::kFault) << seed;
  }
}

// A fault that lasts for some steps is predicted in these alone.
TEST(Outside, AFaultOfSomeStepsIsThereInTheseAlone) {
  const profile::Bench bench = DrawnBench(1);
  const OutsideWorld world(bench);
  Predictor predictor(bench, world.situations());
  profile::Fault silent;
  silent.kind = profile::fault::MessageMissing{};
  silent.at = bench.buses[0].messages[0].name;
  silent.during = {world.situations()[1].name};
  const PredictedRows rows = predictor.Predict(std::span(&silent, 1));
  for (std::size_t s = 0; s < rows.size(); ++s) {
    EXPECT_EQ(rows[s] == predictor.healthy()[s], s != 1) << s;
  }
}

// Each bench of its own may hold what nobody thought of.
TEST(Outside, WhatIsNotOnTheListAlwaysHasAShare) {
  const OutsideRun run = RunOutside(10175);
  EXPECT_LE(run.answered.share, 0.96 + 1e-9);
  EXPECT_GE(run.answered.share, 0.9);
}

TEST(Outside, WhatIsCalledSoSureIsRightSoOften) {
  std::vector<OutsideRun> runs;
  for (std::uint64_t seed = 1; seed <= 60; ++seed) runs.push_back(RunOutside(seed));
  const std::string tables = TruthTable(runs) + ReliabilityTable(runs);
  const auto in = [](TruthGroup group) {
    return [group](const OutsideRun& run) { return run.group == group; };
  };
  // Floors under what was measured, not aims: of 1,000 worlds 95, 96, 87, 77 and 92 %; two deviations
  // of so few runs below.
  EXPECT_GE(ShareRight(runs, in(TruthGroup::kSingle)), 0.85) << tables;
  EXPECT_GE(ShareRight(runs, in(TruthGroup::kCorrodedPin)), 0.75) << tables;
  EXPECT_GE(ShareRight(runs, in(TruthGroup::kOffTheList)), 0.65) << tables;
  EXPECT_GE(ShareRight(runs, in(TruthGroup::kDouble)), 0.5) << tables;
  EXPECT_GE(ShareRight(runs, [](const OutsideRun&) { return true; }), 0.85) << tables;
  EXPECT_EQ(ShareRight(runs, in(TruthGroup::kHealthy)), 1) << tables;
  // All kinds of truth came, or nothing was tried.
  for (const auto group : {TruthGroup::kSingle, TruthGroup::kCorrodedPin, TruthGroup::kDouble,
                           TruthGroup::kOffTheList, TruthGroup::kHealthy}) {
    EXPECT_GE(std::ranges::count_if(runs, in(group)), 5);
  }
}

}  // namespace
}  // namespace drycrank::diagnose
