// SPDX-License-Identifier: Apache-2.0
//
// Sensors whose open-collector output is pulled low once per period:
//
//        |<---- 1/hz ---->|
//   ~~~~~|      |~~~~~~~~~|      |~~~~~~~~~   pulled up by the receiver
//        |______|         |______|
//        |<low_s>|
//
//   frequency  hz = hz_at_zero + hz_per_unit * value. A wheel's tone ring against km/h:
//              hz_per_unit = teeth / (3.6 * circumference_m)
//   low time   low_fraction of the period, or, for a fuel composition sensor, a straight line
//              through two points of its temperature scale. Two scales are published, 1..5 ms for
//              -40..95 and for -40..125 degC, hence the points are parameters. Held at both
//              points. That the low half is meant is common practice, no source.
#ifndef DRYCRANK_SENSOR_PULSE_H_
#define DRYCRANK_SENSOR_PULSE_H_

#include "profile/sensors.h"

namespace drycrank::sensor {

// Never negative; 0 = no pulses.
double PulseHz(const profile::FrequencySensor& sensor, double value);
// REQUIRES: hz_per_unit != 0.
double PulseValue(const profile::FrequencySensor& sensor, double hz);

// Low time per period at `hz`, never the whole period: at least 2 % of it stays high, so that there
// are edges to count. `width_degc` is used by sensors with a width stimulus only. 0 at 0 Hz.
double PulseLowS(const profile::FrequencySensor& sensor, double hz, double width_degc);
// Temperature that a low time stands for.
double PulseWidthDegc(const profile::FrequencySensor& sensor, double low_s);

}  // namespace drycrank::sensor

#endif  // DRYCRANK_SENSOR_PULSE_H_
