// SPDX-License-Identifier: Apache-2.0
#include "sensor/pulse.h"

#include <algorithm>

#include "profile/sensors.h"

namespace drycrank::sensor {
namespace {

constexpr double kMostLowShare = 0.98;
constexpr double kFastestHz =
    1e5;  // common practice, no source: no input of a controller counts more

// y at x on the line through (x0, y0) and (x1, y1), held at the two points.
double Line(double x, double x0, double y0, double x1, double y1) {
  return y0 + (y1 - y0) * std::clamp((x - x0) / (x1 - x0), 0.0, 1.0);
}

}  // namespace

double PulseHz(const profile::FrequencySensor& sensor, double value) {
  return std::clamp(sensor.hz_at_zero + sensor.hz_per_unit * value, 0.0, kFastestHz);
}

double PulseValue(const profile::FrequencySensor& sensor, double hz) {
  return (hz - sensor.hz_at_zero) / sensor.hz_per_unit;
}

double PulseLowS(const profile::FrequencySensor& sensor, double hz, double width_degc) {
  if (hz <= 0) return 0;
  const double period_s = 1 / hz;
  const double low_s = sensor.width_stimulus < 0
                           ? sensor.low_fraction * period_s
                           : 1e-3 * Line(width_degc, sensor.width_low_degc, sensor.width_ms_at_low,
                                         sensor.width_high_degc, sensor.width_ms_at_high);
  return std::min(low_s, kMostLowShare * period_s);
}

double PulseWidthDegc(const profile::FrequencySensor& sensor, double low_s) {
  return Line(low_s * 1e3, sensor.width_ms_at_low, sensor.width_low_degc, sensor.width_ms_at_high,
              sensor.width_high_degc);
}

}  // namespace drycrank::sensor
