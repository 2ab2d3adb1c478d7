// SPDX-License-Identifier: Apache-2.0
#include "plant/sources.h"

#include <cassert>
#include <variant>

#include "profile/sensors.h"
#include "profile/triggers.h"
#include "profile/turning_wheel.h"
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

std::vector<TurningWheel> WheelsOf(const profile::Bench& bench) {
  std::vector<TurningWheel> wheels;
  for (const profile::Trigger& trigger : bench.triggers) {
    wheels.push_back(profile::TurningWheelOf(trigger, bench.engine));
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
    if (const auto* extra = fault->As<profile::fault::ExtraTooth>()) {
      channel.extra_teeth.push_back({extra->begin_deg, extra->end_deg});
    }
    if (const auto* runout = fault->As<profile::fault::WheelRunout>()) {
      channel.runout_deg = runout->deg;
      channel.runout_at_deg = runout->at_deg;
      channel.runout_swing = runout->swing;
    }
  }
  return channel;
}

PickupFault PickupFaultOf(const profile::Trigger& trigger, Faults faults) {
  PickupFault pickup;
  for (const profile::Fault* fault : faults) {
    if (fault->at != trigger.name) continue;
    if (fault->Is<profile::fault::PickupInverted>()) pickup.inverted = !pickup.inverted;
    if (const auto* coil = fault->As<profile::fault::PickupStrength>()) {
      pickup.strength *= coil->factor;
    }
    if (const auto* noise = fault->As<profile::fault::ElectricalNoise>()) {
      pickup.noise = {noise->rate_hz, FromSeconds(noise->width_us * 1e-6), noise->volts};
    }
    if (const auto* stuck = fault->As<profile::fault::CamStuck>()) pickup.stuck_deg = stuck->deg;
    if (const auto* slow = fault->As<profile::fault::CamSlow>()) pickup.deg_per_s = slow->deg_per_s;
  }
  return pickup;
}

}  // namespace drycrank::plant
