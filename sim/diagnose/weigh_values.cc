// SPDX-License-Identifier: Apache-2.0
//
// What is weighed by the values that are moved (weigh.h): which they are, and the sums of the others.
#include <algorithm>
#include <cmath>

#include "diagnose/weigh.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

constexpr std::size_t kManyMoved = 8;  // a share of the values by which all facts are gone through

}  // namespace

void Weigher::SumWholes() {
  wholes_.resize(facts_.values());
  for (std::size_t s = 0; s < of_situation_.size(); ++s) {
    const bool silent = predictor_.healthy_values()[s].empty();
    for (std::size_t i = 0; i < of_situation_[s].size(); ++i) {
      const Known& known = of_situation_[s][i];
      Whole& whole = wholes_[known.fact.value];
      whole.facts.emplace_back(s, i);
      whole.is_certain = whole.is_certain && !silent;
      AddToWhole(known);
    }
  }
  for (const Eigen::Index b : sums_.touched()) {
    wholes_[Nth(facts_.blocks(), b).value].blocks.emplace_back(b, sums_.At(b));
  }
  sums_.Clear();
}

// As Take, of a number that is no glitch whatever A is. A value alone: Whole is of no other.
void Weigher::AddToWhole(const Known& known) {
  Whole& whole = wholes_[known.fact.value];
  if (!known.is_number) {
    whole.log_like -= known.cost_of_state;
    whole.glitches += known.glitch;
    return;
  }
  const double residual = known.fact.seen - known.healthy.low();
  const double own = known.fact.noise;
  const double common = sums_.Raise(known.fact.block, 0);
  const double cost = residual * residual / (2 * (own * own + common * common));
  whole.is_certain = whole.is_certain && known.healthy.is_value() && cost <= kGlitch;
  sums_.Add(known.fact.block, residual, own);
}

// Values that are otherwise in any situation, more and more until they are asked for anew; false: all
// may be.
bool Weigher::FindMoved(const ValueRows& rows, const ValueRows& from) const {
  for (std::size_t s = 0; s < rows.size(); ++s) {
    if (rows[s].empty() || rows[s].size() != from[s].size()) return false;
    ControllerValues::WhereApart(rows[s], from[s], [&](std::size_t v) { moved_[v] = 1; });
  }
  return true;
}

bool Weigher::AddLeftOut(const std::vector<std::vector<bool>>& left_out) const {
  for (const std::vector<bool>& values : left_out) {
    for (std::size_t v = 0; v < values.size(); ++v) {
      if (values[v]) moved_[v] = 1;
    }
  }
  return AreFew();
}

// Facts of one value lie far apart.
bool Weigher::AreFew() const {
  const auto moved = static_cast<std::size_t>(std::ranges::count(moved_, char{1}));
  return kManyMoved * moved <= moved_.size();
}

bool Weigher::IsByValues(const ValueRows& rows, std::span<const std::size_t> situations,
                         const std::set<std::string>* missing) const {
  if (situations.size() != of_situation_.size()) return false;
  if (missing != nullptr && !missing->empty()) return false;
  moved_.assign(wholes_.size(), 0);
  return FindMoved(rows, predictor_.healthy_values()) && AreFew();
}

std::vector<double> Weigher::GainOf(const ValueRows& rows, const ValueRows& without,
                                    const Sensitivities& columns) const {
  std::vector<double> gain(of_situation_.size(), 0);
  const auto take = [&](std::size_t s, const Known& known) {
    const Fact& fact = known.fact;
    const ControllerValues &now = rows[s], &then = without[s];
    const bool comparable = !now.empty() && !then.empty();
    if (comparable && now[fact.value] == then[fact.value]) return;
    if (!comparable && now.size() == then.size()) return;
    gain[s] += CostAlone(fact, without, columns) - CostAlone(fact, rows, columns);
  };
  moved_.assign(wholes_.size(), 0);
  const bool by_values = FindMoved(rows, without) && AreFew();
  for (std::size_t v = 0; v < wholes_.size() && by_values; ++v) {
    if (!moved_[v]) continue;
    for (const auto& [s, i] : wholes_[v].facts) take(s, of_situation_[s][i]);
  }
  for (std::size_t s = 0; s < of_situation_.size() && !by_values; ++s) {
    for (const Known& known : of_situation_[s]) take(s, known);
  }
  return gain;
}

}  // namespace drycrank::diagnose
