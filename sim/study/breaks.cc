// SPDX-License-Identifier: Apache-2.0
#include "study/breaks.h"

#include <algorithm>
#include <deque>
#include <map>
#include <set>

#include "profile/device_leads.h"
#include "profile/sensors.h"
#include "profile/triggers.h"
#include "profile/wire_ends.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

using profile::Bench;

// How many fitted wires end at each name.
std::map<std::string, std::vector<int>> WiresAt(const Bench& bench) {
  std::map<std::string, std::vector<int>> at;
  for (std::size_t w = 0; w < bench.wires.size(); ++w) {
    const profile::Wire& wire = bench.wires[w];
    if (!wire.fitted) continue;
    at[wire.from].push_back(static_cast<int>(w));
    if (wire.to != wire.from) at[wire.to].push_back(static_cast<int>(w));
  }
  return at;
}

// Terminals of the nodes on all buses.
std::set<std::string> NodesOf(const Bench& bench) {
  std::set<std::string> nodes;
  for (const profile::Bus& bus : bench.buses) {
    for (const profile::BusNode& node : bus.nodes) nodes.insert({node.high, node.low});
  }
  return nodes;
}

bool IsContact(const Break& broken) { return broken.open.As<profile::fault::Open>()->wire < 0; }

// What the controller joins inside.
std::vector<std::vector<std::string>> JoinedInside(const Bench& bench) {
  if (!bench.controller) return {};
  const profile::Controller& controller = *bench.controller;
  std::vector<std::string> grounds = {controller.ground}, supplies = {controller.supply};
  for (const auto* more : {&controller.more_grounds, &controller.sensor_grounds}) {
    grounds.insert(grounds.end(), more->begin(), more->end());
  }
  supplies.insert(supplies.end(), controller.more_supplies.begin(), controller.more_supplies.end());
  return {grounds, supplies};
}

// Where one gets from a name without the wires of the break; the circuit that leads there, empty
// for a joint inside the controller.
class Conductors {
 public:
  Conductors(const Bench& bench, const Break& broken) {
    for (std::size_t w = 0; w < bench.wires.size(); ++w) {
      const profile::Wire& wire = bench.wires[w];
      if (!wire.fitted || std::ranges::count(broken.wires, static_cast<int>(w)) > 0) continue;
      Join(wire.from, wire.to, wire.circuit);
    }
    for (const auto& joined : JoinedInside(bench)) {
      for (std::size_t i = 1; i < joined.size(); ++i) Join(joined[0], joined[i], "");
    }
  }

  // Circuits on the shortest way; nothing when there is none.
  std::vector<std::string> Way(const std::string& from, const std::string& to) const {
    std::map<std::string, std::pair<std::string, std::string>>
        came_by;  // name -> (before, circuit)
    std::deque<std::string> open = {from};
    came_by[from] = {};
    while (!open.empty() && !came_by.contains(to)) {
      const std::string at = open.front();
      open.pop_front();
      const auto next = next_.find(at);
      if (next == next_.end()) continue;
      for (const auto& [name, circuit] : next->second) {
        if (came_by.insert({name, {at, circuit}}).second) open.push_back(name);
      }
    }
    std::vector<std::string> way;
    if (!came_by.contains(to)) return way;
    for (std::string at = to; at != from; at = came_by[at].first) {
      const std::string& circuit = came_by[at].second;
      if (!circuit.empty() && std::ranges::count(way, circuit) == 0) way.push_back(circuit);
    }
    if (way.empty()) way.push_back("inside the controller");
    return way;
  }

 private:
  void Join(const std::string& a, const std::string& b, const std::string& circuit) {
    next_[a].emplace_back(b, circuit);
    next_[b].emplace_back(a, circuit);
  }
  std::map<std::string, std::vector<std::pair<std::string, std::string>>> next_;
};

std::vector<std::vector<std::string>> TerminalsOfDevices(const Bench& bench) {
  std::vector<std::vector<std::string>> all;
  for (const auto& trigger : bench.triggers) {
    all.push_back(profile::LeadsOf(trigger.pickup).terminals());
  }
  for (const auto& sensor : bench.sensors) {
    all.push_back(profile::LeadsOf(sensor.model).terminals());
  }
  return all;
}

std::vector<int> DevicesWith(const std::vector<std::vector<std::string>>& devices,
                             const std::set<std::string>& terminals) {
  std::vector<int> found;
  for (std::size_t d = 0; d < devices.size(); ++d) {
    const bool there =
        std::ranges::any_of(devices[d], [&](const auto& t) { return terminals.contains(t); });
    if (there) found.push_back(static_cast<int>(d));
  }
  return found;
}

std::set<std::string> EndsOf(const Bench& bench, const Break& broken) {
  std::set<std::string> ends;
  for (const int w : broken.wires) {
    ends.insert(Nth(bench.wires, w).from);
    ends.insert(Nth(bench.wires, w).to);
  }
  return ends;
}

}  // namespace

std::vector<std::string> CircuitNames(const Bench& bench) {
  std::vector<std::string> names;
  std::set<std::string> known;
  for (const profile::Wire& wire : bench.wires) {
    if (known.insert(wire.circuit).second) names.push_back(wire.circuit);
  }
  return names;
}

std::vector<Break> BreaksOf(const Bench& bench) {
  std::map<std::string, int> index;
  const std::vector<std::string> names = CircuitNames(bench);
  for (std::size_t i = 0; i < names.size(); ++i) index[names[i]] = static_cast<int>(i);
  std::vector<Break> breaks;
  for (std::size_t w = 0; w < bench.wires.size(); ++w) {
    const profile::Wire& wire = bench.wires[w];
    if (!wire.fitted) continue;
    Break broken;
    broken.open.kind = profile::fault::Open{static_cast<int>(w)};
    broken.open.at = wire.circuit;
    broken.wires = {static_cast<int>(w)};
    broken.circuits = {index.at(wire.circuit)};
    breaks.push_back(std::move(broken));
  }
  const std::set<std::string> on_bus = NodesOf(bench);
  for (const auto& [name, wires] : WiresAt(bench)) {
    const bool is_contact = name.find('.') != std::string::npos;
    if (!is_contact || (wires.size() < 2 && !on_bus.contains(name))) continue;
    Break contact;
    contact.open.kind = profile::fault::Open{};
    contact.open.at = name;
    contact.wires = wires;
    for (const int w : wires) {
      const int circuit = index.at(Nth(bench.wires, w).circuit);
      if (std::ranges::count(contact.circuits, circuit) == 0) contact.circuits.push_back(circuit);
    }
    breaks.push_back(std::move(contact));
  }
  return breaks;
}

std::vector<std::string> OtherWays(const Bench& bench, const Break& broken) {
  const profile::Wire& wire = Nth(bench.wires, broken.wires.front());
  if (IsContact(broken)) return {};  // an open contact parts the pin from all its wires
  return Conductors(bench, broken).Way(wire.from, wire.to);
}

std::optional<Parting> PartingOf(const Bench& bench, const Break& broken) {
  if (OtherWays(bench, broken).empty()) return std::nullopt;
  const std::vector<std::string> names = CircuitNames(bench);
  const profile::Wire& wire = Nth(bench.wires, broken.wires.front());
  Parting parting;
  Break all;
  std::string next = wire.circuit;
  while (parting.circuits.size() < kMostParted) {
    const auto at = std::ranges::find(names, next);
    if (at == names.end()) return std::nullopt;  // joined inside the controller
    parting.circuits.push_back(static_cast<int>(at - names.begin()));
    parting.opens.emplace_back().kind = profile::fault::Open{};
    parting.opens.back().at = next;
    for (std::size_t w = 0; w < bench.wires.size(); ++w) {
      if (bench.wires[w].circuit == next) all.wires.push_back(static_cast<int>(w));
    }
    const std::vector<std::string> way = Conductors(bench, all).Way(wire.from, wire.to);
    if (way.empty()) return parting;
    next = way.front();
  }
  return std::nullopt;
}

bool IsAtDevice(const Bench& bench, const Break& broken) {
  return !DevicesWith(TerminalsOfDevices(bench), EndsOf(bench, broken)).empty();
}

std::vector<int> DevicesAt(const Bench& bench, const Break& broken) {
  const auto devices = TerminalsOfDevices(bench);
  const std::set<std::string> ends = EndsOf(bench, broken);
  const std::vector<int> found = DevicesWith(devices, ends);
  if (!found.empty()) return found;
  std::set<std::string> reached = ends;
  std::vector<std::string> open(ends.begin(), ends.end());
  while (!open.empty()) {
    const std::string at = open.back();
    open.pop_back();
    if (!profile::IsJoint(bench, at)) continue;
    for (const profile::Wire& wire : bench.wires) {
      if (wire.from != at && wire.to != at) continue;
      const std::string& far = wire.from == at ? wire.to : wire.from;
      if (reached.insert(far).second) open.push_back(far);
    }
  }
  return DevicesWith(devices, reached);
}

bool IsTrunk(const Bench& bench, const Break& broken) {
  std::set<std::string> shared(bench.splices.begin(), bench.splices.end());
  for (const profile::Supply& supply : bench.supplies) shared.insert({supply.plus, supply.minus});
  for (const auto& joined : JoinedInside(bench)) shared.insert(joined.begin(), joined.end());
  if (bench.controller) {
    for (const auto& reference : bench.controller->references) shared.insert(reference.terminal);
  }
  return std::ranges::all_of(broken.wires, [&](int w) {
    const profile::Wire& wire = Nth(bench.wires, w);
    return shared.contains(wire.from) && shared.contains(wire.to);
  });
}

}  // namespace drycrank::study
