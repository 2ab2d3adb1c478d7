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
  }
  std::ranges::sort(told.readings);
  return told;
}

// Floors under what was measured on the kart, one in eight: 46 of 52 named are right. The aims are nine
// of ten, a median of two readings, and no truth excluded.
TEST(Dialogue, NamesOneRepairOnTheKart) {
  const Told told = Ask("kart", 24);
  ASSERT_GE(told.asked, 8);
  EXPECT_LE(told.readings[told.readings.size() / 2],
            4);  // 2 are wanted; more is on the list, and more has to be asked
  EXPECT_LE(10 * told.excluded, 2 * told.asked);
  EXPECT_GE(10 * told.right, 8 * told.named);
  EXPECT_GE(10 * told.named, 6 * told.asked);
}

}  // namespace
}  // namespace drycrank::diagnose
