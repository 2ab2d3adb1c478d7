// SPDX-License-Identifier: Apache-2.0
//
// What of a sensor's own range a bench makes use of: a platinum resistor is good for -200 to 850 °C,
// and of one in coolant 0 to 150 °C matter. A platinum's class, what a sensor may be stuck at and what
// another curve is compared over are of that.
#ifndef DRYCRANK_DIAGNOSE_USED_RANGE_H_
#define DRYCRANK_DIAGNOSE_USED_RANGE_H_

#include <algorithm>

#include "profile/bench.h"
#include "profile/sensors.h"
#include "types/nth.h"

namespace drycrank::diagnose {

// In the stimulus' unit; empty where the two do not meet.
struct UsedRange {
  double low = 0, high = 0;

  double span() const { return std::max(0.0, high - low); }
};

inline UsedRange UsedRangeOf(const profile::Bench& bench, const profile::Sensor& sensor) {
  const profile::Stimulus& stimulus = Nth(bench.stimuli, sensor.stimulus);
  return {std::max(sensor.min, stimulus.min), std::min(sensor.max, stimulus.max)};
}

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_USED_RANGE_H_
