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

namespace drycrank::sensor {

enum class ElectricalKind {
  kResistance,      // ohm between plus and minus
  kSupplyFraction,  // signal = ground + fraction * (supply - ground), through output_ohm
  kVoltage,         // V, signal against ground, through output_ohm (type K: plus against minus)
  kPulse,           // open collector; see hz and low_s
};

struct Electrical {
  ElectricalKind kind = ElectricalKind::kResistance;
  double value = 0;  // ohm, fraction, V
  double hz = 0;     // kPulse
  double low_s = 0;  // kPulse: time the output is pulled low per period, < 1/hz
};

// `value` in the stimulus' unit. `barometric_kpa` turns gauge into absolute pressure where the
// stimulus and the sensor refer to different zeros. `width_value` is the value of the width
// stimulus of a FrequencySensor in degC (else unused).
Electrical ToElectrical(const profile::Sensor& sensor, const profile::Stimulus& stimulus,
                        double value, double barometric_kpa, double width_value = 0);

// The inverse, for tests, meters' pages and diagnosis: the quantity for which ToElectrical gives
// this. kPulse: from hz. kSwitch sensors have no inverse: returns the value at which they close.
double FromElectrical(const profile::Sensor& sensor, const profile::Stimulus& stimulus,
                      const Electrical& electrical, double barometric_kpa);

}  // namespace drycrank::sensor

#endif  // DRYCRANK_SENSOR_SENSOR_H_
