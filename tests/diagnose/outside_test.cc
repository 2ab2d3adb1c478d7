// SPDX-License-Identifier: Apache-2.0
//
// Diagnoses of worlds that the diagnosis does not know (outside_world.h). The whole is
// tests/bench/diagnosis_bench; its tables stand in hw-notes/reading-a-diagnosis.md.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>

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

}  // namespace
}  // namespace drycrank::diagnose
