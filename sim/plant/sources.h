// SPDX-License-Identifier: Apache-2.0
//
// What the bench's devices give, from stimuli and faults: the only place where the sources of a bench
// are made. A run asks at each instant, a diagnosis in a held situation; both get the same.
//
//   sensor   quantity + sensor_offset, or sensor_stuck -> its law (sensor/sensor.h) -> Source
//   wheel    profile's trigger -> TurningWheel, wheel_offset, tooth_missing, not_fitted beside it
#ifndef DRYCRANK_PLANT_SOURCES_H_
#define DRYCRANK_PLANT_SOURCES_H_

#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "plant/disturbances.h"
#include "profile/bench.h"
#include "profile/fault.h"
#include "trigger/channel.h"
#include "types/source.h"
#include "types/wheel.h"

namespace drycrank::plant {

// Those in force.
using Faults = std::span<const profile::Fault* const>;

// Value of a stimulus by its index, in its unit.
using StimulusValue = std::function<double(int)>;

Source SourceOf(const profile::Bench& bench, const profile::Sensor& sensor,
                const StimulusValue& value_of, Faults faults);

// One per device, triggers then sensors, as harness::DeviceValues: with all outputs off, coils at
// rest.
void DevicesAtRest(const profile::Bench& bench, const StimulusValue& value_of, Faults faults,
                   std::span<double> values);

std::vector<TurningWheel> WheelsOf(const profile::Bench& bench);
// What faults make of the wheel and its sensor.
trigger::ChannelFault WheelFaultOf(const profile::Trigger& trigger, Faults faults);

// What faults make of a pickup and of the cam that it looks at.
struct PickupFault {
  bool inverted = false;
  double strength = 1;                   // of a coil's EMF
  NoiseLaw noise = {};
  std::optional<double> stuck_deg = {};  // the cam stays at this advance ...
  std::optional<double> deg_per_s = {};  // ... or is moved no faster than this
};
PickupFault PickupFaultOf(const profile::Trigger& trigger, Faults faults);

}  // namespace drycrank::plant

#endif  // DRYCRANK_PLANT_SOURCES_H_
