// SPDX-License-Identifier: Apache-2.0
//
// Circuits that nothing can prove: no expectation of the scenario names them, or, without a
// scenario, the walk through the bench cannot (walk/walk.h). The wires of a bus are proven by
// any message.
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "schedule/check_parts.h"
#include "schedule/wired_devices.h"
#include "walk/walk.h"

namespace drycrank::schedule {
namespace {

// Circuit -> why it cannot be proven.
std::map<std::string, std::string> NotProvable(const Check& check, const profile::Bench& bench) {
  std::map<std::string, std::string> circuits;
  if (check.in.scenario == nullptr) {
    if (!bench.controller) return circuits;
    for (const auto& entry : walk::MakeWalk(bench).not_provable) {
      circuits.emplace(entry.circuit, entry.why);
    }
    return circuits;
  }
  std::set<std::string> proven;
  for (const profile::Expectation& e : check.in.scenario->expectations) {
    proven.insert(e.proves.begin(), e.proves.end());
  }
  for (const profile::Wire& wire : bench.wires) {
    if (proven.contains(wire.circuit)) continue;
    circuits.emplace(wire.circuit, "no expectation of the scenario proves it");
  }
  return circuits;
}

std::set<int> BusNets(const Check& check) {
  std::set<int> nets;
  for (const profile::Bus& bus : check.in.bench->buses) {
    for (const profile::BusNode& node : bus.nodes) {
      nets.insert(check.nets.Of(node.high));
      nets.insert(check.nets.Of(node.low));
    }
  }
  return nets;
}

// A device with a mistake at one terminal proves none of its circuits.
void TellCircuitsOfMistaken(Check& check) {
  for (const WiredDevice& device : DevicesOf(*check.in.bench)) {
    const std::vector<std::string> ends = device.terminals();
    const bool mistaken = std::any_of(ends.begin(), ends.end(), [&](const std::string& end) {
      return check.Follows(end) || check.told_ends.contains(end);
    });
    if (!mistaken) continue;
    for (const int wire : check.WiresAt(ends)) {
      check.told_circuits.insert(check.Wire(wire).circuit.text);
    }
  }
}

}  // namespace

void CheckProof(Check& check) {
  TellCircuitsOfMistaken(check);
  const profile::Bench bench = BenchWith(*check.in.bench, check.schedule);
  auto circuits = NotProvable(check, bench);
  const std::set<int> bus_nets = BusNets(check);
  for (std::size_t i = 0; i < check.schedule.wires.size(); ++i) {
    const ScheduleWire& wire = check.schedule.wires[i];
    const auto at = circuits.find(wire.circuit.text);
    if (at == circuits.end() || bus_nets.contains(check.nets.Of(wire.from.text))) continue;
    const std::string why = at->second;
    circuits.erase(at);  // once per circuit
    if (check.told_circuits.contains(wire.circuit.text) || check.Follows(wire.from.text)) {
      ++check.result.consequences;
      continue;
    }
    check.Add(FindingKind::kNotProvable, wire.circuit.place,
              fmt::format("nothing can prove {}: {}", Title(wire), why),
              check.in.scenario == nullptr ? "prove it with a meter, and write that down"
                                           : "let an expectation prove it, or a meter",
              {static_cast<int>(i)}, {});
  }
}

}  // namespace drycrank::schedule
