// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <numbers>

#include "scenario/timeline.h"

namespace drycrank::scenario {
namespace {

using profile::DriveKind;

// The point at or before x. REQUIRES: not empty, x >= points[0].first.
double PointsIntegral(const Points& points, double x) {
  if (points.empty()) return 0;
  double sum = points.front().second * std::min(x, points.front().first);
  for (std::size_t i = 0; i + 1 < points.size() && points[i].first < x; ++i) {
    const double end = std::min(x, points[i + 1].first);
    sum += (points[i].second + Interpolate(points, end)) / 2 * (end - points[i].first);
  }
  return sum + points.back().second * std::max(0.0, x - points.back().first);
}

double RampIntegral(const Track& track, double x) {
  if (x >= track.over_s) {
    return (track.from + track.to) / 2 * track.over_s + track.to * (x - track.over_s);
  }
  return track.from * x + (track.to - track.from) * x * x / (2 * track.over_s);
}

double SinceBegin(const Track& track, TimeNs t_ns) {
  return ToSeconds(std::max<TimeNs>(0, t_ns - track.begin_ns));
}

void Widen(Range& range, double value) {
  range.low = std::min(range.low, value);
  range.high = std::max(range.high, value);
}

// Crests lie at T/4 + k T/2.
void WidenBySine(const Track& track, double first_s, double last_s, Range& range) {
  const double half = track.period_s / 2;
  const double k = std::ceil((first_s - half / 2) / half);
  for (int i = 0; i < 2; ++i) {
    const double crest = half / 2 + (k + i) * half;
    if (crest > last_s) return;
    const bool up = std::fmod(std::abs(k + i), 2.0) == 0.0;
    Widen(range, track.to + (up ? track.amplitude : -track.amplitude));
  }
}

}  // namespace

double Track::Value(TimeNs t_ns) const {
  const double x = SinceBegin(*this, t_ns);
  switch (kind) {
    case DriveKind::kRamp:
      return x >= over_s ? to : from + (to - from) * (x / over_s);
    case DriveKind::kSine:
      return to + amplitude * std::sin(2 * std::numbers::pi * std::fmod(x / period_s, 1.0));
    case DriveKind::kPoints:
      return points == nullptr ? to : Interpolate(*points, x);
    case DriveKind::kHold:
    case DriveKind::kCrank:
      return to;
  }
  return to;
}

double Track::Integral(TimeNs t_ns) const {
  const double x = SinceBegin(*this, t_ns);
  const double turn = 2 * std::numbers::pi;
  switch (kind) {
    case DriveKind::kRamp:
      return RampIntegral(*this, x);
    case DriveKind::kSine:
      return to * x +
             amplitude * period_s / turn * (1 - std::cos(turn * std::fmod(x / period_s, 1.0)));
    case DriveKind::kPoints:
      return points == nullptr ? to * x : PointsIntegral(*points, x);
    case DriveKind::kHold:
    case DriveKind::kCrank:
      return to * x;
  }
  return 0;
}

Range Track::Extremes(TimeNs first_ns, TimeNs last_ns) const {
  const double at_first = Value(first_ns);
  Range range{at_first, at_first};
  Widen(range, Value(last_ns));
  const double first_s = SinceBegin(*this, first_ns), last_s = SinceBegin(*this, last_ns);
  if (kind == DriveKind::kSine) WidenBySine(*this, first_s, last_s, range);
  if (kind == DriveKind::kPoints && points != nullptr) {
    auto p = std::lower_bound(points->begin(), points->end(), first_s,
                              [](const auto& point, double x) { return point.first < x; });
    for (; p != points->end() && p->first <= last_s; ++p) Widen(range, p->second);
  }
  return range;
}

}  // namespace drycrank::scenario
