// SPDX-License-Identifier: Apache-2.0
//
// Looks that are cheap beside solving a size: which hypotheses need not be solved at all (solve.h).
#include <algorithm>
#include <cmath>

#include "diagnose/size_scale.h"
#include "diagnose/solve.h"
#include "diagnose/unplayed.h"

namespace drycrank::diagnose {
namespace {

constexpr double kRounding =
    1;  // nats: the sensitivities of what it does not move are nearly the base's

}  // namespace

// At either end of its range or between, by the situations of the key facts. Of a resistance at its ends
// alone: what is the same at both is the same between, being (a + b R) / (c + d R).
bool Solver::MovesAKey(const Hypothesis& hypothesis) const {
  if (!MissingIn(hypothesis.faults).empty()) return true;
  const double low = Low(hypothesis), high = High(hypothesis);
  for (const double share : {0.0, 1.0, 0.3, 0.6}) {
    if (share > 0 && hypothesis.quantity == Quantity::kNone) break;
    if (share < 1 && share > 0 && hypothesis.quantity == Quantity::kOhm) break;
    const auto faults = FaultsOf(Sized(hypothesis, low + share * (high - low)));
    Trial trial(predictor_, faults);
    ValueRows rows(facts_.situations());
    for (const std::size_t f : key_) {
      const Fact& fact = facts_.all()[f];
      if (rows[fact.situation].empty()) {
        rows[fact.situation] = trial.Values(fact.situation, &key_values_);
      }
      const Prediction now = facts_.At(rows, fact), then = facts_.At(rows_, fact);
      if (now == then) continue;
      const bool both = now.is_value() && then.is_value() && fact.block >= 0;
      if (!both || std::abs(now.low() - then.low()) > fact.noise / 2) return true;
    }
  }
  return false;
}

// Most likely were all that it moves just as seen. What a resistance leaves alone at both its ends it leaves
// alone between them.
bool Solver::CouldReach(const Hypothesis& hypothesis, double least) const {
  if (least <= kNever || hypothesis.quantity != Quantity::kOhm) return true;
  std::vector<std::vector<bool>> moved(facts_.situations(),
                                       std::vector<bool>(facts_.values(), false));
  for (const double end : {Low(hypothesis), High(hypothesis)}) {
    const Unplayed now(predictor_, FaultsOf(Sized(hypothesis, end)), first_);
    for (const std::size_t s : first_) {
      if (now.rows[s].size() != rows_[s].size()) return true;
      for (std::size_t v = 0; v < rows_[s].size(); ++v) {
        if (now.left_out[s][v] || !(now.rows[s][v] == rows_[s][v])) moved[s][v] = true;
      }
    }
  }
  return weigher_.AtMost(rows_, columns_, first_, nullptr, moved) >= least - kRounding;
}

}  // namespace drycrank::diagnose
