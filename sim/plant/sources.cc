// SPDX-License-Identifier: Apache-2.0
#include "plant/sources.h"

#include <cassert>
#include <variant>

#include "profile/devices.h"
#include "sensor/sensor.h"
#include "types/nth.h"

namespace drycrank::plant {
namespace {

double QuantityAt(const profile::Sensor& sensor, const StimulusValue& value_of, Faults faults) {
  double value = value_of(sensor.stimulus);
  for (const profile::Fault* fault : faults) {
    const auto* offset = fault->As<profile::fault::SensorOffset>();
    if (offset && fault->at == sensor.name) value += offset->value;
    const auto* stuck = fault->As<profile::fault::SensorStuck>();
    if (stuck && fault->at == sensor.name) return stuck->value;
  }
  return value;
}

// The pulse width of a flex-fuel sensor tells a second quantity.
double WidthValue(const profile::Sensor& sensor, const StimulusValue& value_of) {
  const auto* model = std::get_if<profile::FrequencySensor>(&sensor.model);
  return model == nullptr || model->width_stimulus < 0 ? 0 : value_of(model->width_stimulus);
}

}  // namespace

Source SourceOf(const profile::Bench& bench, const profile::Sensor& sensor,
                const StimulusValue& value_of, Faults faults) {
  return sensor::ToSource(sensor, Nth(bench.stimuli, sensor.stimulus),
                          QuantityAt(sensor, value_of, faults), bench.barometric_pressure_kpa,
                          WidthValue(sensor, value_of));
}

void DevicesAtRest(const profile::Bench& bench, const StimulusValue& value_of, Faults faults,
                   std::span<double> values) {
  const std::size_t first = bench.triggers.size();
  assert(values.size() == first + bench.sensors.size());
  for (std::size_t i = 0; i < first; ++i) values[i] = 0;
  for (std::size_t i = 0; i < bench.sensors.size(); ++i) {
    const profile::Sensor& sensor = bench.sensors[i];
    // Of pulses: off.
    values[first + i] = SourceOf(bench, sensor, value_of, faults).value;
  }
}

TurningWheel WheelOf(const profile::Trigger& trigger, const profile::Engine& engine) {
  TurningWheel wheel;
  wheel.teeth = trigger.wheel.teeth;
  wheel.turn_deg = trigger.shaft == profile::Shaft::kCam ? engine.cycle_deg() : 360.0;
  wheel.offset_deg = trigger.offset_deg;
  if (const auto* coil = std::get_if<profile::VariableReluctancePickup>(&trigger.pickup)) {
    wheel.is_coil = true;
    wheel.emf = {coil->peak_v, coil->peak_at_rpm};
  }
  return wheel;
}

std::vector<TurningWheel> WheelsOf(const profile::Bench& bench) {
  std::vector<TurningWheel> wheels;
  for (const profile::Trigger& trigger : bench.triggers) {
    wheels.push_back(WheelOf(trigger, bench.engine));
  }
  return wheels;
}

trigger::ChannelFault WheelFaultOf(const profile::Trigger& trigger, Faults faults) {
  trigger::ChannelFault channel;
  channel.fitted = trigger.fitted;
  for (const profile::Fault* fault : faults) {
    if (fault->at != trigger.name) continue;
    if (fault->Is<profile::fault::NotFitted>()) channel.fitted = false;
    if (const auto* late = fault->As<profile::fault::WheelOffset>()) channel.late_deg += late->deg;
    if (const auto* gone = fault->As<profile::fault::ToothMissing>()) {
      channel.missing_teeth.push_back(gone->tooth);
    }
  }
  return channel;
}

}  // namespace drycrank::plant
