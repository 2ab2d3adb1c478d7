// SPDX-License-Identifier: Apache-2.0
#include "profile/conductors.h"

#include <set>
#include <vector>

#include "profile/device_leads.h"

namespace drycrank::profile {
namespace {

void AddController(const Controller& controller, std::set<std::string>& terminals) {
  terminals.insert({controller.supply, controller.ground});
  for (const auto* pins :
       {&controller.more_supplies, &controller.more_grounds, &controller.sensor_grounds}) {
    terminals.insert(pins->begin(), pins->end());
  }
  for (const ReferenceOutput& reference : controller.references) {
    terminals.insert(reference.terminal);
  }
  for (const InputCircuit& input : controller.inputs) {
    terminals.insert({input.terminal, input.minus});
  }
}

std::set<std::string> ModelledTerminals(const Bench& bench) {
  std::set<std::string> terminals;
  const auto add = [&](const DeviceLeads& leads) {
    for (const std::string& terminal : leads.terminals()) terminals.insert(terminal);
  };
  for (const Supply& supply : bench.supplies) terminals.insert({supply.plus, supply.minus});
  for (const Load& load : bench.loads) terminals.insert({load.plus, load.minus});
  for (const Trigger& trigger : bench.triggers) add(LeadsOf(trigger.pickup));
  for (const Sensor& sensor : bench.sensors) add(LeadsOf(sensor.model));
  if (bench.controller) AddController(*bench.controller, terminals);
  return terminals;
}

}  // namespace

bool IsModelled(const Bench& bench, const std::string& at) {
  const std::set<std::string> modelled = ModelledTerminals(bench);
  std::vector<std::string> open = {at};
  for (const Wire& wire : bench.wires) {
    if (wire.circuit == at) open.insert(open.end(), {wire.from, wire.to});
  }
  std::set<std::string> seen(open.begin(), open.end());
  while (!open.empty()) {
    const std::string here = open.back();
    open.pop_back();
    if (modelled.contains(here)) return true;
    for (const Wire& wire : bench.wires) {
      if (!wire.fitted || (wire.from != here && wire.to != here)) continue;
      const std::string& far = wire.from == here ? wire.to : wire.from;
      if (seen.insert(far).second) open.push_back(far);
    }
  }
  return false;
}

}  // namespace drycrank::profile
