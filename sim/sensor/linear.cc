// SPDX-License-Identifier: Apache-2.0
#include "sensor/linear.h"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "profile/sensors.h"
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
