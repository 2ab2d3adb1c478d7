// SPDX-License-Identifier: Apache-2.0
#include "profile/conductors.h"

#include <algorithm>
#include <set>
#include <vector>

#include "profile/device_leads.h"
#include "profile/sensors.h"
#include "profile/triggers.h"

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
    terminals.insert(input.terminal);
    if (!input.minus.empty()) terminals.insert(input.minus);
  }
  for (const ControllerOutput& output : controller.outputs) terminals.insert(output.terminal);
}

std::set<std::string> ModelledTerminals(const Bench& bench) {
  std::set<std::string> terminals;
  const auto add = [&](const DeviceLeads& leads) {
    for (const std::string& terminal : leads.terminals()) terminals.insert(terminal);
  };
  for (const Supply& supply : bench.supplies) terminals.insert({supply.plus, supply.minus});
  for (const Load& load : bench.loads) terminals.insert({load.plus, load.minus});
  for (const Relay& relay : bench.relays) {
    terminals.insert({relay.coil_plus, relay.coil_minus, relay.common, relay.normally_open});
    if (!relay.normally_closed.empty()) terminals.insert(relay.normally_closed);
  }
  for (const Diode& diode : bench.diodes) terminals.insert({diode.anode, diode.cathode});
  for (const Bus& bus : bench.buses) {
    for (const BusNode& node : bus.nodes) terminals.insert({node.high, node.low});
  }
  for (const Trigger& trigger : bench.triggers) add(LeadsOf(trigger.pickup));
  for (const Sensor& sensor : bench.sensors) add(LeadsOf(sensor.model));
  if (bench.controller) AddController(*bench.controller, terminals);
  return terminals;
}

// Goes along fitted wires, but for those that `parted` says are cut.
class Conductors {
 public:
  explicit Conductors(const Bench& bench) : bench_(bench), modelled_(ModelledTerminals(bench)) {}

  bool Has(const std::string& terminal) const { return modelled_.contains(terminal); }

  template <class IsParted>
  bool Reaches(const std::string& from, const IsParted& is_parted) const {
    return Finds(from, is_parted, [this](const std::string& here) { return Has(here); });
  }
  template <class IsParted, class IsWanted>
  bool Finds(const std::string& from, const IsParted& is_parted, const IsWanted& is_wanted) const {
    std::vector<std::string> open = {from};
    std::set<std::string> seen = {from};
    while (!open.empty()) {
      const std::string here = open.back();
      open.pop_back();
      if (is_wanted(here)) return true;
      for (const Wire& wire : bench_.wires) {
        if (!wire.fitted || is_parted(wire) || (wire.from != here && wire.to != here)) continue;
        const std::string& far = wire.from == here ? wire.to : wire.from;
        if (seen.insert(far).second) open.push_back(far);
      }
    }
    return false;
  }

 private:
  const Bench& bench_;
  const std::set<std::string> modelled_;
};

// The ends of all wires of a circuit.
std::set<std::string> EndsOf(const Bench& bench, const std::string& circuit) {
  std::set<std::string> ends;
  for (const Wire& wire : bench.wires) {
    if (wire.circuit == circuit) ends.insert({wire.from, wire.to});
  }
  return ends;
}

}  // namespace

bool IsModelled(const Bench& bench, const std::string& at) {
  const Conductors conductors(bench);
  const auto none = [](const Wire&) { return false; };
  std::set<std::string> ends = EndsOf(bench, at);
  ends.insert(at);
  return std::ranges::any_of(ends,
                             [&](const std::string& end) { return conductors.Reaches(end, none); });
}

bool IsBetweenModelled(const Bench& bench, const std::string& at) {
  const Conductors conductors(bench);
  int sides = 0;
  // A circuit: what its wires end at, without them.
  const auto of_circuit = [&](const Wire& wire) { return wire.circuit == at; };
  for (const std::string& end : EndsOf(bench, at)) sides += conductors.Reaches(end, of_circuit);
  // A terminal: what is behind its pin, and what its wires lead to without it.
  const auto ends_here = [&](const Wire& wire) { return wire.from == at || wire.to == at; };
  sides += conductors.Has(at);
  for (const Wire& wire : bench.wires) {
    if (!wire.fitted || !ends_here(wire)) continue;
    sides += conductors.Reaches(wire.from == at ? wire.to : wire.from, ends_here);
  }
  return sides >= 2;
}

bool ReachesInput(const Bench& bench, const std::string& at) {
  if (!bench.controller) return false;
  const auto none = [](const Wire&) { return false; };
  return Conductors(bench).Finds(at, none, [&](const std::string& here) {
    return std::ranges::any_of(bench.controller->inputs, [&](const InputCircuit& input) {
      return input.terminal == here || input.minus == here;
    });
  });
}

std::set<std::string> PlacesOnBus(const Bench& bench) {
  std::set<std::string> places;
  const auto none = [](const Wire&) { return false; };
  const auto take = [&](const std::string& here) {
    places.insert(here);
    return false;
  };
  const Conductors conductors(bench);
  for (const Bus& bus : bench.buses) {
    for (const BusNode& node : bus.nodes) {
      conductors.Finds(node.high, none, take);
      conductors.Finds(node.low, none, take);
    }
  }
  return places;
}

bool AreJoined(const Bench& bench, const std::string& a, const std::string& b) {
  const auto none = [](const Wire&) { return false; };
  return Conductors(bench).Finds(a, none, [&](const std::string& here) { return here == b; });
}

}  // namespace drycrank::profile
