// SPDX-License-Identifier: Apache-2.0
#include "standin/pattern.h"

#include <algorithm>
#include <cmath>

#include "types/angle.h"
#include "types/coil_lobe.h"

namespace drycrank::standin {
namespace {

using profile::ToothPoint;

// Where a coil's voltage falls through zero. `gap_deg`: the air before the tooth.
double ZeroDeg(const Tooth& tooth, double gap_deg) {
  const double tooth_deg = tooth.end_deg - tooth.begin_deg;
  const double reach_deg = LobeReachOf(gap_deg, tooth_deg, tooth_deg).tooth_deg;
  if (reach_deg == tooth_deg / 2) return 0.5 * (tooth.begin_deg + tooth.end_deg);
  return tooth.begin_deg + reach_deg;
}

double PointDeg(const profile::TriggerChannel& channel, std::size_t index, ToothPoint point) {
  const std::vector<Tooth>& teeth = channel.wheel.teeth;
  const Tooth& tooth = teeth[index];
  if (point == ToothPoint::kBegin) return tooth.begin_deg;
  if (point == ToothPoint::kEnd) return tooth.end_deg;
  if (channel.conditioning == profile::Conditioning::kThreshold) {
    return 0.5 * (tooth.begin_deg + tooth.end_deg);
  }
  const Tooth& before = teeth[(index + teeth.size() - 1) % teeth.size()];
  const double gap_deg = WrapDeg(tooth.begin_deg - before.end_deg, 360.0);
  return ZeroDeg(tooth, gap_deg);
}

// Of a rotor three teeth come at one place of the crank.
void BeOnceEach(double cycle_deg, std::vector<double>& edges_deg) {
  constexpr double kSameDeg = 0.01;
  const auto same = [](double a, double b) { return b - a < kSameDeg; };
  edges_deg.erase(std::unique(edges_deg.begin(), edges_deg.end(), same), edges_deg.end());
  if (edges_deg.size() > 1 && edges_deg.front() + cycle_deg - edges_deg.back() < kSameDeg) {
    edges_deg.pop_back();
  }
}

std::vector<double> EdgesDeg(const profile::TriggerChannel& channel, double cycle_deg,
                             ToothPoint point) {
  const double turn_deg = profile::ShaftTurnDeg(channel.shaft, cycle_deg);
  const double repeats = std::max(1.0, std::round(cycle_deg / turn_deg));
  std::vector<double> edges_deg;
  for (std::size_t i = 0; i < channel.wheel.teeth.size(); ++i) {
    const double wheel_deg = PointDeg(channel, i, point);
    const double crank_deg = channel.offset_deg + turn_deg / 360 * wheel_deg;
    for (int turn = 0; turn < repeats; ++turn) {
      edges_deg.push_back(WrapDeg(crank_deg + turn_deg * turn, cycle_deg));
    }
  }
  std::sort(edges_deg.begin(), edges_deg.end());
  if (turn_deg > cycle_deg) BeOnceEach(cycle_deg, edges_deg);
  return edges_deg;
}

}  // namespace

std::vector<double> ActiveEdgesDeg(const profile::TriggerChannel& channel, double cycle_deg) {
  return EdgesDeg(channel, cycle_deg, channel.point);
}

std::vector<double> OtherEdgesDeg(const profile::TriggerChannel& channel, double cycle_deg) {
  if (!channel.both_edges || channel.point == ToothPoint::kCentre) return {};
  const bool begin = channel.point == ToothPoint::kBegin;
  return EdgesDeg(channel, cycle_deg, begin ? ToothPoint::kEnd : ToothPoint::kBegin);
}

Pattern::Pattern(const profile::TriggerChannel& channel, double cycle_deg, double ratio_tolerance)
    : cycle_deg_(cycle_deg),
      widest_(1 + ratio_tolerance),
      position_deg_(ActiveEdgesDeg(channel, cycle_deg)) {
  if (position_deg_.empty()) return;
  for (int i = 0; i < size(); ++i) {
    const double from_last = position_deg(i) - position_deg(Back(i, 1));
    interval_deg_.push_back(from_last > 0 ? from_last : from_last + cycle_deg_);
  }
  for (int i = 0; i < size(); ++i) {
    inverse_ratio_.push_back(interval_deg(Back(i, 1)) / interval_deg(i));
  }
  const auto [shortest, longest] = std::minmax_element(interval_deg_.begin(), interval_deg_.end());
  min_interval_deg_ = *shortest;
  max_interval_deg_ = *longest;
  has_gap_ = max_interval_deg_ > min_interval_deg_ * widest_;
}

double Pattern::SpanDeg(int edge, int count) const {
  if (count <= 0) return 0;
  const double span = position_deg(edge) - position_deg(Back(edge, count));
  return span > 0 ? span : span + cycle_deg_;
}

bool Pattern::SamePosition(int a, int b) const {
  return std::abs(WrapSignedDeg(position_deg(a) - position_deg(b), 360.0)) < 1e-6;
}

bool Pattern::LookAlike(int a, int b) const {
  for (int i = 0, pa = a, pb = b; i < size(); ++i) {
    if (!Allows(pb, ExpectedRatio(pa))) return false;
    pa = Next(pa);
    pb = Next(pb);
  }
  return true;
}

int Pattern::Twin() const {
  for (int b = 1; b < size(); ++b) {
    if (!SamePosition(0, b) && LookAlike(0, b)) return b;
  }
  return -1;
}

bool Pattern::single_position() const {
  for (int i = 1; i < size(); ++i) {
    if (!SamePosition(0, i)) return false;
  }
  return size() > 0;
}

}  // namespace drycrank::standin
