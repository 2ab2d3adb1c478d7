// SPDX-License-Identifier: Apache-2.0
#include "schedule/wired_devices.h"

#include <algorithm>

#include "profile/sensors.h"
#include "profile/triggers.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::schedule {
namespace {

struct Channel {
  std::string name, unit, terminal;
};

std::vector<Channel> ChannelsOf(const profile::Controller& controller) {
  std::vector<Channel> channels;
  for (const auto& c : controller.analog) channels.push_back({c.name, c.unit, c.terminal});
  for (const auto& c : controller.frequency) channels.push_back({c.name, c.unit, c.terminal});
  return channels;
}

bool Converts(const std::string& unit, const std::string& to) {
  return unit.empty() || to.empty() || Convert(0, unit, to).has_value();
}

bool TriggerFits(const profile::Controller& controller, const std::string& name,
                 const std::string& terminal) {
  bool any = false;
  for (const profile::TriggerChannel& channel : controller.triggers) {
    if (channel.name == name) return channel.terminal == terminal;
    any = any || channel.terminal == terminal;
  }
  return any;
}

}  // namespace

std::vector<WiredDevice> DevicesOf(const profile::Bench& bench) {
  std::vector<WiredDevice> devices;
  for (std::size_t i = 0; i < bench.triggers.size(); ++i) {
    const profile::Trigger& trigger = bench.triggers[i];
    devices.push_back({profile::LeadsOf(trigger.pickup), "trigger " + trigger.name, trigger.name,
                       -1, static_cast<int>(i), trigger.place});
  }
  for (std::size_t i = 0; i < bench.sensors.size(); ++i) {
    const profile::Sensor& sensor = bench.sensors[i];
    devices.push_back({profile::LeadsOf(sensor.model), "sensor " + sensor.name, sensor.name,
                       static_cast<int>(i), -1, sensor.place});
  }
  return devices;
}

std::vector<std::string> ChannelsAt(const profile::Controller& controller,
                                    const std::string& terminal) {
  std::vector<std::string> names;
  for (const Channel& channel : ChannelsOf(controller)) {
    if (channel.terminal == terminal) names.push_back(channel.name);
  }
  for (const profile::TriggerChannel& channel : controller.triggers) {
    if (channel.terminal == terminal) names.push_back(channel.name);
  }
  return names;
}

bool Fits(const profile::Bench& bench, const WiredDevice& device, const std::string& terminal) {
  const profile::Controller& controller = *bench.controller;
  if (device.trigger >= 0) return TriggerFits(controller, device.name, terminal);
  const profile::Sensor& sensor = Nth(bench.sensors, device.sensor);
  const profile::Stimulus& stimulus = Nth(bench.stimuli, sensor.stimulus);
  bool converts = false, named_elsewhere = false;
  for (const Channel& channel : ChannelsOf(controller)) {
    const bool here = channel.terminal == terminal;
    if (channel.name == stimulus.name || channel.name == device.name) {
      if (here) return true;
      named_elsewhere = true;
    }
    converts = converts || (here && Converts(channel.unit, stimulus.unit));
  }
  return converts && !named_elsewhere;
}

}  // namespace drycrank::schedule
