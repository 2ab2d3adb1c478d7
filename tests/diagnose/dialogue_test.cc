// SPDX-License-Identifier: Apache-2.0
//
// Dialogues with a bench that ngspice answers for: a share of the single faults of the shipped benches
// (all of them: tests/bench/dialogue_bench.cc).
#include <gtest/gtest.h>

#include <algorithm>
#include <map>

#include "tests/diagnose/asked_world.h"

namespace drycrank::diagnose {
namespace {

struct Told {
  int asked = 0, named = 0, right = 0, excluded = 0;
  std::vector<int> readings;
};

Told Ask(const std::string& bench, int one_in) {
  Walked walked(bench);
  Predictor predictor(walked.bench(), walked.situations());
  Ranker ranker(walked.bench(), predictor);
  Told told;
  std::map<std::string, int> seen;
  std::uint64_t seed = 0;
  for (const Hypothesis& listed : SingleFaults(walked.bench())) {
    const Hypothesis truth = OffTheGrid(listed, seed);
    ++seed;
    if (seen[truth.kind]++ % one_in != 0) continue;
    const Observation observed = walked.Observe(truth.faults, seed);
    const Diagnosis diagnosis = ranker.Rank(observed);
    if (diagnosis.healthy) continue;
    const Dialogue d = Converse(walked.bench(), predictor, diagnosis, observed, truth, seed);
    ++told.asked;
    told.named += d.named;
    told.right += d.right;
    told.excluded += d.excluded;
    told.readings.push_back(d.readings);
    if (d.excluded) {
      ADD_FAILURE() << "excluded: " << Describe(walked.bench(), truth);
      for (const std::string& line : d.said) ADD_FAILURE() << line;
    }
  }
  std::ranges::sort(told.readings);
  return told;
}

void ExpectNamed(const Told& told, int at_least) {
  ASSERT_GE(told.asked, at_least);
  EXPECT_LE(told.readings[told.readings.size() / 2], 2);
  EXPECT_EQ(told.excluded, 0);
  EXPECT_GE(10 * told.right, 9 * told.named);
  EXPECT_GE(10 * told.named, 7 * told.asked);
}

TEST(Dialogue, NamesOneRepairOnTheKart) { ExpectNamed(Ask("kart", 8), 20); }
TEST(Dialogue, NamesOneRepairOnTheHillClimbCar) { ExpectNamed(Ask("hill_climb", 60), 10); }

}  // namespace
}  // namespace drycrank::diagnose
