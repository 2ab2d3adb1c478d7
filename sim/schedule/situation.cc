// SPDX-License-Identifier: Apache-2.0
#include "schedule/situation.h"

#include <algorithm>

#include "profile/device_leads.h"
#include "profile/sensors.h"
#include "profile/triggers.h"
#include "sensor/sensor.h"
#include "types/nth.h"

namespace drycrank::schedule {

double ValueAt(const profile::Bench& bench, const profile::Sensor& sensor, double share) {
  if (profile::GivenBy(sensor.model) == profile::Gives::kPulses) return 1;
  const profile::Stimulus& stimulus = Nth(bench.stimuli, sensor.stimulus);
  const double low = std::max(sensor.min, stimulus.min);
  const double high = std::max(low, std::min(sensor.max, stimulus.max));
  return sensor::ToSource(sensor, stimulus, low + share * (high - low),
                          bench.barometric_pressure_kpa)
      .value;
}

harness::DeviceValues ValuesAt(const profile::Bench& bench, double share) {
  harness::DeviceValues values;
  for (const profile::Trigger& trigger : bench.triggers) {
    values.push_back(profile::GivenBy(trigger.pickup) == profile::Gives::kPulses ? 1 : 0);
  }
  for (const profile::Sensor& sensor : bench.sensors)
    values.push_back(ValueAt(bench, sensor, share));
  return values;
}

double ReadingAt(const profile::AnalogChannel& channel, double volts, double scale) {
  return Interpolate(channel.value_at_volts, channel.ratiometric ? volts * scale : volts);
}

}  // namespace drycrank::schedule
