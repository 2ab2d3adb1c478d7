// SPDX-License-Identifier: Apache-2.0
//
// What the devices of a bench present to its network at some share of their range, and what the
// controller makes of an input's voltage. Internal to schedule/.
#ifndef DRYCRANK_SCHEDULE_SITUATION_H_
#define DRYCRANK_SCHEDULE_SITUATION_H_

#include "harness/harness.h"
#include "profile/bench.h"

namespace drycrank::schedule {

// Sensors at `share` of their range, [0, 1]; pulse and Hall outputs conduct, coils are at rest.
harness::DeviceValues ValuesAt(const profile::Bench& bench, double share);
// Of one sensor.
double ValueAt(const profile::Bench& bench, const profile::Sensor& sensor, double share);

// The channel's value at `volts`: straight between the points of its table, held outside. `scale`:
// nominal by actual volts of the reference, for a ratiometric channel.
double ReadingAt(const profile::AnalogChannel& channel, double volts, double scale);

}  // namespace drycrank::schedule

#endif  // DRYCRANK_SCHEDULE_SITUATION_H_
