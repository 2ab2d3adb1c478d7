// SPDX-License-Identifier: Apache-2.0
//
// Physical value to what the sensor presents at its terminals, and back.
//
// Each model is a monotone function value <-> electrical within [min, max] of the profile; outside,
// the value is held at the end of the range (a thermistor does not become negative). Curves are in
// their own headers with their sources: ntc.h, platinum.h, type_k.h, linear.h, pulse.h.
#ifndef DRYCRANK_SENSOR_SENSOR_H_
#define DRYCRANK_SENSOR_SENSOR_H_

#include "profile/bench.h"
#include "types/source.h"

namespace drycrank::sensor {

// `value` in the stimulus' unit. `barometric_kpa` turns gauge into absolute pressure where the
// stimulus and the sensor refer to different zeros. `width_value` is the value of the width
// stimulus of a FrequencySensor in degC (else unused).
Source ToSource(const profile::Sensor& sensor, const profile::Stimulus& stimulus, double value,
                double barometric_kpa, double width_value = 0);

// The inverse, for tests, meters' pages and diagnosis: the quantity for which ToSource gives
// this. kPulses: from hz. kSwitch sensors have no inverse: returns the value at which they close.
double FromSource(const profile::Sensor& sensor, const profile::Stimulus& stimulus,
                  const Source& source, double barometric_kpa);

}  // namespace drycrank::sensor

#endif  // DRYCRANK_SENSOR_SENSOR_H_
