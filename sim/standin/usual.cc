// SPDX-License-Identifier: Apache-2.0
#include "standin/usual.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "types/nth.h"

namespace drycrank::standin {
namespace {

std::vector<double> IntervalsDeg(const Pattern& crank) {
  std::vector<double> intervals_deg;
  for (int i = 0; i < crank.size(); ++i) intervals_deg.push_back(crank.interval_deg(i));
  return intervals_deg;
}

}  // namespace

Usual::Usual(const Pattern& crank, double ratio_tolerance)
    : interval_deg_(IntervalsDeg(crank)),
      tooth_deg_(crank.min_interval_deg()),
      widest_(1 + ratio_tolerance),
      ratio_(interval_deg_.size()) {}

// Between so many teeth and one more or fewer, in ratios.
double Usual::Widest(int place, bool longer) const {
  const double teeth = Nth(interval_deg_, place) / tooth_deg_;
  const double fewer = teeth - 1;
  const double half = longer ? (teeth + 1) / teeth : fewer > 0.5 ? teeth / fewer : widest_;
  return std::sqrt(std::min(widest_, half));
}

bool Usual::IsNear(int place, double factor) const {
  return std::max(factor, 1 / factor) < Widest(place, factor > 1);
}

bool Usual::Clears(double speed) const {
  const double around = std::sqrt(speed_[0] * speed);
  const double off = speed_[1] / around;
  if (off < 1) return off * Widest(doubted_, true) > 1;
  return off < std::sqrt(Widest(doubted_, false));
}

Usual::Verdict Usual::OnInterval(int place, double interval_ns, double ratio, double told) {
  const double speed = Nth(interval_deg_, place) / interval_ns;
  if (const int doubted = doubted_; doubted >= 0) {
    const bool clears = Clears(speed);
    doubted_ = -1;
    speed_ = {speed_[1], speed};
    if (!clears) return Verdict::kNotCleared;
    Nth(ratio_, doubted) = doubted_ratio_;
    Nth(ratio_, place) = ratio;
    return Verdict::kCleared;
  }
  speed_ = {speed_[1], speed};
  const double usual = std::exchange(Nth(ratio_, place), ratio);
  if (usual == 0 || speed_[0] == 0) return Verdict::kAsUsual;
  if (IsNear(place, ratio / usual) || IsNear(place, ratio / told)) return Verdict::kAsUsual;
  longer_ = ratio > usual;
  doubted_ = place;
  doubted_ratio_ = std::exchange(Nth(ratio_, place), usual);
  return Verdict::kDoubted;
}

void Usual::Forget() {
  std::ranges::fill(ratio_, 0.0);
  speed_ = {};
  doubted_ = -1;
}

}  // namespace drycrank::standin
