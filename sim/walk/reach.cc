// SPDX-License-Identifier: Apache-2.0
#include "walk/reach.h"

#include <algorithm>
#include <utility>
#include <variant>
#include <vector>

#include "profile/fault_relay.h"
#include "profile/device_leads.h"
#include "profile/output_device.h"
#include "types/nth.h"
#include "walk/device_wires.h"
#include "walk/values.h"

namespace drycrank::walk {
namespace {

using profile::Bench;
using profile::DeviceLeads;
using profile::OutputChannel;

class Finder {
 public:
  explicit Finder(const Bench& bench) : bench_(bench) {}

  Reach Find() {
    reach_.all = false;
    for (const profile::OutputDevice& device : bench_.drives) {
      const bool hangs_between = std::holds_alternative<profile::out::Potentiometer>(device.kind);
      for (const OutputChannel* channel : ChannelsOf(device)) Take(*channel, hangs_between);
    }
    for (const profile::Trigger& trigger : bench_.triggers) Leave(LeadsOf(trigger.pickup));
    for (const profile::Sensor& sensor : bench_.sensors) Leave(LeadsOf(sensor.model));
    return std::move(reach_);
  }

 private:
  void Take(const OutputChannel& channel, bool hangs_between) {
    if (channel.of == OutputChannel::Of::kSupply || profile::IsFaultRelay(channel)) return;
    reach_.devices.insert(channel.name);
    const bool is_sensor = channel.of == OutputChannel::Of::kSensor;
    const DeviceLeads leads = is_sensor ? LeadsOf(Nth(bench_.sensors, channel.index).model)
                                        : LeadsOf(Nth(bench_.triggers, channel.index).pickup);
    driven_.insert(leads.signal);
    const bool is_coil = leads.gives == profile::Gives::kCoil;
    if (hangs_between || is_coil) driven_.insert(leads.ground);
    for (const std::string& terminal : leads.terminals()) {
      if (!driven_.contains(terminal)) continue;
      for (std::string& circuit : CircuitsOf(bench_, {terminal})) {
        reach_.circuits.insert(std::move(circuit));
      }
    }
  }

  // What hangs on a lead that nobody drives is not shown by those beside it.
  void Leave(const DeviceLeads& leads) {
    for (const std::string& terminal : leads.terminals()) {
      if (driven_.contains(terminal)) continue;
      for (const std::string& circuit : CircuitsOf(bench_, {terminal})) {
        reach_.circuits.erase(circuit);
      }
    }
  }

  const Bench& bench_;
  Reach reach_;
  std::set<std::string> driven_;  // terminals
};

}  // namespace

Reach ReachOfReal(const Bench& bench, bool outputs) {
  if (outputs) return Finder(bench).Find();
  Reach reach;
  reach.all = false;
  return reach;
}

bool SensorReaches(const Bench& bench, const Reach& reach, const profile::Sensor& sensor) {
  const bool by_message =
      IsSentBySimulator(bench, sensor.stimulus) && ChannelsOf(bench, sensor).empty();
  return reach.Has(sensor.name) || by_message;
}

bool StimulusReaches(const Bench& bench, const Reach& reach, int stimulus) {
  if (reach.all || IsSentBySimulator(bench, stimulus)) return true;
  if (stimulus == 0) return EngineReaches(bench, reach);
  return std::ranges::any_of(bench.sensors, [&](const profile::Sensor& sensor) {
    return sensor.stimulus == stimulus && reach.Has(sensor.name);
  });
}

bool EngineReaches(const Bench& bench, const Reach& reach) {
  if (reach.all || IsSentBySimulator(bench, 0)) return true;
  const int primary = bench.controller->decoder.primary;
  return primary >= 0 && reach.Has(Nth(bench.controller->triggers, primary).name);
}

bool AllWheelsReach(const Bench& bench, const Reach& reach) {
  return std::ranges::all_of(bench.triggers, [&](const profile::Trigger& t) {
    return t.fitted && (reach.Has(t.name) || IsSentBySimulator(bench, 0));
  });
}

}  // namespace drycrank::walk
