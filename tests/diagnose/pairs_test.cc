// SPDX-License-Identifier: Apache-2.0
//
// Two faults at once: the screen's volts beside those of a network with both, and double faults
// found among all pairs.
#include "harness/pairs.h"

#include <gtest/gtest.h>

#include <cmath>

#include "diagnose/electrical.h"
#include "diagnose/rank.h"
#include "diagnose/suspects.h"
#include "tests/diagnose/large_bench.h"
#include "types/random.h"

namespace drycrank::diagnose {
namespace {

class PairsTest : public testing::Test {
 protected:
  explicit PairsTest(bool always_on = false) : large_(40, always_on) {}

  LargeBench large_;
  Predictor predictor_{large_.bench(), large_.situations()};
  Ranker ranker_{large_.bench(), predictor_};
  Random random_{5, 1};

  // Of those that are paired.
  const Hypothesis& Any() {
    while (true) {
      const Hypothesis& any = ranker_.hypotheses()[random_.Next() % ranker_.hypotheses().size()];
      if (any.kind != kOtherCurve) return any;
    }
  }
};

class PairsWithoutStates : public PairsTest {
 protected:
  PairsWithoutStates() : PairsTest(true) {}
};

// The screen keeps every device supplied, so here the sensors work without; and it takes the
// network for reciprocal, which an output that follows its supply is not: two in a hundred may
// differ.
TEST_F(PairsWithoutStates, VoltsAreThoseOfANetworkWithBoth) {
  const HealthyElectrical& healthy = predictor_.electrical();
  std::vector<harness::Edit> edits;
  std::vector<const Hypothesis*> held;
  for (const Hypothesis& h : ranker_.hypotheses()) {
    const auto edit = harness::EditOf(large_.bench(), healthy.variants().topology(), h.faults);
    if (!edit || !harness::Pairs::Holds(*edit)) continue;
    edits.push_back(*edit);
    held.push_back(&h);
  }
  const std::size_t situation = 3;
  std::vector<harness::Pairs::Cell> cells;
  for (int input = 0; input < healthy.variants().input_count(); ++input) {
    cells.push_back({0, input});
  }
  const std::vector<harness::DeviceValues> cases = {healthy.devices(situation)};
  const harness::Pairs pairs(healthy.variants(), edits, cases, cells);
  std::vector<float> volts(cells.size());
  int same = 0, changed = 0, all = 0;
  for (int i = 0; i < 1000; ++i) {
    const std::size_t a = random_.Next() % edits.size(), b = random_.Next() % edits.size();
    std::vector<profile::Fault> both = held[a]->faults;
    both.insert(both.end(), held[b]->faults.begin(), held[b]->faults.end());
    if (a == b || !harness::EditOf(large_.bench(), healthy.variants().topology(), both)) continue;
    pairs.Volts(a, b, volts);
    ElectricalModel model(large_.bench(), healthy, both);
    const Electrical& at = model.SolveIn(situation);
    for (std::size_t n = 0; n < volts.size(); ++n) {
      ++all;
      same += std::abs(static_cast<double>(volts[n]) - at.input_v[n]) < 0.005;
      changed += std::abs(healthy.at(situation).input_v[n] - at.input_v[n]) > 0.005;
    }
  }
  EXPECT_GT(changed, all / 20);
  EXPECT_GE(100 * same, 98 * all) << same << " of " << all;
}

// Drawn from all single faults; those that one fault explains as well are no double faults.
TEST_F(PairsTest, TwoFaultsAtOnceAreFoundAmongAllPairs) {
  int explained = 0, tried = 0;
  while (tried < 20) {
    std::vector<profile::Fault> both = Any().faults;
    const Hypothesis& other = Any();
    both.insert(both.end(), other.faults.begin(), other.faults.end());
    const Observation observed = AsSeen(predictor_.Predict(both));
    const Diagnosis alone = ranker_.Rank(observed, {.doubles = false});
    if (alone.healthy || alone.explained) continue;
    ++tried;
    const Diagnosis diagnosis = ranker_.Rank(observed);
    explained += diagnosis.explained;
  }
  EXPECT_GE(explained, 16);
}

}  // namespace
}  // namespace drycrank::diagnose
