// SPDX-License-Identifier: Apache-2.0
#include "standin/cam.h"

#include <algorithm>
#include <cmath>

#include "standin/pattern.h"
#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::standin {
namespace {

std::vector<Tooth> TeethDeg(const profile::TriggerChannel& channel, double cycle_deg) {
  const double per_wheel_deg = profile::ShaftTurnDeg(channel.shaft, cycle_deg) / 360;
  const auto at = [&](double wheel_deg) {
    return WrapDeg(channel.offset_deg + per_wheel_deg * wheel_deg, cycle_deg);
  };
  std::vector<Tooth> teeth;
  for (const Tooth& tooth : channel.wheel.teeth) {
    teeth.push_back({at(tooth.begin_deg), at(tooth.end_deg)});
  }
  return teeth;
}

}  // namespace

Cam::Cam(const profile::TriggerChannel& channel, double cycle_deg)
    : cycle_deg_(cycle_deg),
      window_deg_(channel.window_deg),
      nominal_deg_(ActiveEdgesDeg(channel, cycle_deg)),
      other_deg_(OtherEdgesDeg(channel, cycle_deg)),
      teeth_(TeethDeg(channel, cycle_deg)),
      early_deg_(nominal_deg_.size()),
      measured_(nominal_deg_.size()) {}

std::optional<bool> Cam::ToothAt(double cycle_angle_deg, double within_deg) const {
  bool tooth = false;
  for (const Tooth& one : teeth_) {
    const double since_deg = WrapDeg(cycle_angle_deg - one.begin_deg, cycle_deg_);
    const double length_deg = WrapDeg(one.end_deg - one.begin_deg, cycle_deg_);
    const double to_begin_deg = std::min(since_deg, cycle_deg_ - since_deg);
    const double to_end_deg = std::abs(WrapSignedDeg(since_deg - length_deg, cycle_deg_));
    if (std::min(to_begin_deg, to_end_deg) <= within_deg) return std::nullopt;
    tooth = tooth || since_deg < length_deg;
  }
  return tooth;
}

Cam::Match Cam::Nearest(double cycle_angle_deg, bool other) const {
  const std::vector<double>& places_deg = other ? other_deg_ : nominal_deg_;
  Match best;
  for (int i = 0; i < static_cast<int>(places_deg.size()); ++i) {
    const double early_deg = WrapSignedDeg(Nth(places_deg, i) - cycle_angle_deg, cycle_deg_);
    const double miss_deg = std::abs(early_deg - followed_deg_);
    if (best.edge < 0 || miss_deg < best.miss_deg) best = {i, early_deg, miss_deg};
  }
  return best;
}

void Cam::Measure(const Match& match) {
  if (match.edge < 0) return;
  Nth(early_deg_, match.edge) = match.early_deg;
  Nth(measured_, match.edge) = true;
  double sum_deg = 0;
  int count = 0;
  for (std::size_t i = 0; i < early_deg_.size(); ++i) {
    if (!measured_[i]) continue;
    sum_deg += early_deg_[i];
    ++count;
  }
  angle_deg_ = sum_deg / count;
}

void Cam::Reset() {
  measured_.assign(measured_.size(), false);
  angle_deg_ = 0;
  followed_deg_ = 0;
}

}  // namespace drycrank::standin
