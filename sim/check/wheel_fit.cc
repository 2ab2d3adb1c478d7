// SPDX-License-Identifier: Apache-2.0
#include "check/wheel_fit.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::check {
namespace {

constexpr double kWidestWindowDeg = 45;
constexpr std::size_t kSeeds = 3;  // seen edges from which a shift is tried: one may be too many

constexpr double kSameSpreadDeg = 0.5;

// Fewest left over; of equals those that are off by the same; as they are, not inverted; nearest.
bool IsBetter(const Fit& a, const Fit& b) {
  const int a_left = a.missing + a.extra, b_left = b.missing + b.extra;
  if (a_left != b_left) return a_left < b_left;
  const double a_spread_deg = a.most_deg - a.least_deg, b_spread_deg = b.most_deg - b.least_deg;
  if (std::abs(a_spread_deg - b_spread_deg) > kSameSpreadDeg) return a_spread_deg < b_spread_deg;
  if (a.inverted != b.inverted) return b.inverted;
  return std::abs(a.late_deg()) < std::abs(b.late_deg()) - 1e-6;
}

}  // namespace

WheelFit::WheelFit(std::vector<BuiltEdge> due, double cycle_deg, double period_deg)
    : due_(std::move(due)), cycle_deg_(cycle_deg), period_deg_(period_deg), taken_(due_.size()) {
  for (std::size_t i = 0; i < due_.size(); ++i) {
    of_level_[due_[i].high ? 1 : 0].push_back(static_cast<int>(i));
  }
  window_deg_ = kWidestWindowDeg;
  for (const std::vector<int>& level : of_level_) {
    for (std::size_t i = 0; i < level.size() && level.size() > 1; ++i) {
      const double next_deg = Nth(due_, level[(i + 1) % level.size()]).deg;
      const double apart_deg = WrapDeg(next_deg - Nth(due_, level[i]).deg, cycle_deg_);
      window_deg_ = std::min(window_deg_, apart_deg / 2);
    }
  }
}

// Of that level; -1: none.
int WheelFit::Nearest(double deg, bool high) const {
  const std::vector<int>& level = of_level_[high ? 1 : 0];
  if (level.empty()) return -1;
  const double in_cycle_deg = WrapDeg(deg, cycle_deg_);
  const auto after =
      std::ranges::lower_bound(level, in_cycle_deg, {}, [&](int i) { return Nth(due_, i).deg; });
  const int next = after == level.end() ? level.front() : *after;
  const int before = after == level.begin() ? level.back() : *(after - 1);
  const auto off = [&](int i) {
    return std::abs(WrapSignedDeg(in_cycle_deg - Nth(due_, i).deg, cycle_deg_));
  };
  return off(before) < off(next) ? before : next;
}

Fit WheelFit::At(std::span<const SeenEdge> seen, double shift_deg, bool inverted) const {
  Fit fit{.shift_deg = shift_deg, .inverted = inverted};
  std::fill(taken_.begin(), taken_.end(), false);
  double sum_deg = 0;
  for (const SeenEdge& edge : seen) {
    const int due = Nearest(edge.deg - shift_deg, edge.high != inverted);
    const double off_deg =
        due < 0 ? 0 : WrapSignedDeg(edge.deg - shift_deg - Nth(due_, due).deg, cycle_deg_);
    if (due < 0 || std::abs(off_deg) > window_deg_ || Nth(taken_, due)) {
      if (fit.extra++ == 0) fit.first_extra_deg = edge.deg;
      continue;
    }
    Nth(taken_, due) = true;
    sum_deg += off_deg;
    fit.least_deg = fit.found == 0 ? off_deg : std::min(fit.least_deg, off_deg);
    fit.most_deg = fit.found == 0 ? off_deg : std::max(fit.most_deg, off_deg);
    if (fit.worst < 0 || std::abs(off_deg) > std::abs(fit.worst_deg)) {
      fit.worst = due;
      fit.worst_deg = off_deg;
    }
    ++fit.found;
  }
  fit.missing = static_cast<int>(due_.size()) - fit.found;
  fit.mean_deg = fit.found == 0 ? 0 : sum_deg / fit.found;
  const auto first = std::find(taken_.begin(), taken_.end(), false);
  if (first != taken_.end()) fit.first_missing = static_cast<int>(first - taken_.begin());
  return fit;
}

Fit WheelFit::Best(std::span<const SeenEdge> seen, bool or_inverted) const {
  Fit best = At(seen, 0);
  for (const bool inverted : {false, true}) {
    if (inverted && !or_inverted) break;
    for (std::size_t s = 0; s < std::min(kSeeds, seen.size()); ++s) {
      const SeenEdge& seed = seen[s * seen.size() / kSeeds];
      for (const int due : of_level_[seed.high != inverted ? 1 : 0]) {
        const double shift_deg = WrapSignedDeg(seed.deg - Nth(due_, due).deg, period_deg_);
        const Fit fit = At(seen, shift_deg, inverted);
        if (IsBetter(fit, best)) best = fit;
      }
    }
  }
  return best;
}

}  // namespace drycrank::check
