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

bool Solver::IsKeyMovedTo(const ControllerValues& row, std::size_t situation) const {
  return std::ranges::any_of(key_, [&](std::size_t f) {
    const Fact& fact = facts_.all()[f];
    if (fact.situation != situation) return false;
    const Prediction then = facts_.At(rows_, fact);
    const Prediction now = row.empty() ? Prediction::None() : Facts::Sent(row[fact.value], fact);
    if (now == then) return false;
    const bool both = now.is_value() && then.is_value() && fact.block >= 0;
    return !both || std::abs(now.low() - then.low()) > fact.noise / 2;
  });
}

// At either end of its range or between, by the situations of the key facts. Of a resistance at its
// ends alone: what is the same at both is the same between, being (a + b R) / (c + d R).
bool Solver::MovesAKey(const Hypothesis& hypothesis) const {
  for (const double end : {Low(hypothesis), High(hypothesis)}) {
    if (!MissingWith(FaultsOf(Sized(hypothesis, end))).empty()) return true;
  }
  const double low = Low(hypothesis), high = High(hypothesis);
  for (const double share : {0.0, 1.0, 0.3, 0.6}) {
    if (share > 0 && hypothesis.quantity == Quantity::kNone) break;
    if (share < 1 && share > 0 && hypothesis.quantity == Quantity::kOhm) break;
    const auto faults = FaultsOf(Sized(hypothesis, low + share * (high - low)));
    Trial trial(predictor_, faults);
    for (const std::size_t s : key_situations_) {
      if (IsKeyMovedTo(trial.These(s, key_values_), s)) return true;
    }
  }
  return false;
}

// By what it moves of the base's rows.
void Solver::Widen(const Unplayed& now, Situations situations, Ceiling& ceiling) const {
  if (ceiling.moved.empty()) {
    ceiling.moved.resize(facts_.situations(), std::vector<bool>(facts_.values(), false));
  }
  for (const std::size_t s : situations) {
    const ControllerValues &after = now.rows[s], &before = rows_[s];
    ceiling.is_none = ceiling.is_none || before.empty();
    if (before.empty()) continue;
    const auto move = [&](std::size_t v) {
      if (ceiling.moved[s][v]) return;
      ceiling.moved[s][v] = true;
      ceiling.is_found = false;
    };
    if (!after.empty()) ControllerValues::WhereApart(after, before, move);
    if (!after.empty() && !now.any_left_out) continue;
    for (std::size_t v = 0; v < before.size(); ++v) {
      if (after.empty() || now.left_out[s][v]) move(v);
    }
  }
}

// REQUIRES: widened.
double Solver::HeightOf(Ceiling& ceiling, Situations situations,
                        const Sensitivities& columns) const {
  if (ceiling.is_none) return -kNever;
  if (!ceiling.is_found) {
    ceiling.log_like = weigher_.AtMost(rows_, columns, situations, nullptr, ceiling.moved);
    ceiling.is_found = true;
  }
  return ceiling.log_like + kRounding;
}

// At this size.
double Solver::AtMostAt(const Unplayed& now, Situations situations, const Sensitivities& columns,
                        Ceiling& ceiling) const {
  Widen(now, situations, ceiling);
  if (ceiling.is_none) return -kNever;
  return HeightOf(ceiling, situations, columns) -
         weigher_.LeastLost(now, rows_, columns, situations, ceiling.moved);
}

// At any size: what a resistance leaves alone at both its ends it leaves alone between them. What
// keeps a message away moves no value, and is no less likely for that.
bool Solver::CouldReach(const Hypothesis& hypothesis, double least, Ceiling& ceiling) const {
  if (least <= kNever || hypothesis.quantity != Quantity::kOhm) return true;
  for (const double end : {Low(hypothesis), High(hypothesis)}) {
    const std::vector<profile::Fault> faults = FaultsOf(Sized(hypothesis, end));
    if (!MissingWith(faults).empty()) return true;
    Widen(Unplayed(predictor_, faults, first_), first_, ceiling);
  }
  return HeightOf(ceiling, first_, columns_) >= least;
}

}  // namespace drycrank::diagnose
