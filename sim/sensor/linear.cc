// SPDX-License-Identifier: Apache-2.0
#include "sensor/linear.h"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "types/unit.h"

namespace drycrank::sensor {

double RatiometricFraction(const profile::RatiometricSensor& sensor, double value) {
  const double share = (value - sensor.low_value) / (sensor.high_value - sensor.low_value);
  const double fraction = std::lerp(sensor.low_fraction, sensor.high_fraction, share);
  return std::clamp(fraction, sensor.min_fraction, sensor.max_fraction);
}

double RatiometricValue(const profile::RatiometricSensor& sensor, double fraction) {
  const double share =
      (fraction - sensor.low_fraction) / (sensor.high_fraction - sensor.low_fraction);
  return std::lerp(sensor.low_value, sensor.high_value, share);
}

double Interpolate(const profile::Points& points, double x) {
  assert(!points.empty());
  const auto next = std::upper_bound(points.begin(), points.end(), x,
                                     [](double at, const auto& point) { return at < point.first; });
  if (next == points.begin()) return points.front().second;
  if (next == points.end()) return points.back().second;
  const auto& [x0, y0] = *(next - 1);
  const auto& [x1, y1] = *next;
  return std::lerp(y0, y1, (x - x0) / (x1 - x0));
}

double InterpolateInverse(const profile::Points& points, double y) {
  assert(!points.empty());
  if (points.front().second == y) return points.front().first;
  for (std::size_t i = 1; i < points.size(); ++i) {
    const auto& [x0, y0] = points[i - 1];
    const auto& [x1, y1] = points[i];
    if ((y0 < y) != (y1 < y) || y1 == y) return std::lerp(x0, x1, (y - y0) / (y1 - y0));
  }
  const bool first_is_nearer =
      std::abs(points.front().second - y) < std::abs(points.back().second - y);
  return (first_is_nearer ? points.front() : points.back()).first;
}

bool SwitchClosed(const profile::SwitchSensor& sensor, double value) {
  return sensor.closed_above ? value >= sensor.closed_at : value <= sensor.closed_at;
}

double ZeroShift(profile::PressureReference from, profile::PressureReference to,
                 double barometric_kpa, const std::string& unit) {
  if (from == to) return 0;
  const double barometric =
      unit == "kPa" ? barometric_kpa : Convert(barometric_kpa, "kPa", unit).value_or(0);
  return to == profile::PressureReference::kAbsolute ? barometric : -barometric;
}

}  // namespace drycrank::sensor
