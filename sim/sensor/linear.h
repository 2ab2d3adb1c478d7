// SPDX-License-Identifier: Apache-2.0
//
// Sensors with straight characteristics: a share of the supply, a broken line of volts, a switch.
//
//   ratiometric  fraction = low_fraction + (x - low_value) / (high_value - low_value)
//                           * (high_fraction - low_fraction)
//                held at min_fraction and max_fraction, where the output stage saturates. 0.1 and
//                0.9 of the supply (0.5 and 4.5 V at 5 V) are common practice.
//   voltage      straight between the points, held outside.
//   switch       closed_ohm or open_ohm.
//
// A pressure of one zero for a sensor of the other: absolute = gauge + barometric.
#ifndef DRYCRANK_SENSOR_LINEAR_H_
#define DRYCRANK_SENSOR_LINEAR_H_

#include "profile/sensors.h"

namespace drycrank::sensor {

double RatiometricFraction(const profile::RatiometricSensor& sensor, double value);
// On the straight line through the sensor's two points. REQUIRES: low_fraction != high_fraction.
double RatiometricValue(const profile::RatiometricSensor& sensor, double fraction);

bool SwitchClosed(const profile::SwitchSensor& sensor, double value);

// What to add to a pressure of zero `from` to express it with zero `to`, in `unit`.
double ZeroShift(profile::PressureReference from, profile::PressureReference to,
                 double barometric_kpa, const std::string& unit);

}  // namespace drycrank::sensor

#endif  // DRYCRANK_SENSOR_LINEAR_H_
