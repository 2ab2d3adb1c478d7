// SPDX-License-Identifier: Apache-2.0
#include "profile/load_bench.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <string_view>

#include "profile/output_device.h"
#include "profile/keys_bench.h"
#include "profile/keys_fault_priors.h"
#include "profile/protection.h"
#include "profile/sensors.h"
#include "profile/table_reader.h"
#include "profile/triggers.h"
#include "types/unit.h"

namespace drycrank::profile {

void LoadBenchTree(Problems& problems, const Node& root, Bench& bench, bool wires_as_drawn) {
  BenchContext c{problems, bench, {}, wires_as_drawn};
  Reader r(problems, root, "the bench");
  r.BeTop();
  TableReader t(r, kBenchKeys, bench);  // the caller has read `kind` and `format`
  t.Take("name");
  bench.title = bench.name;
  t.TakeRest();
  LoadEngine(c, r.Find("engine"));
  LoadStimuli(c, r.Find("stimuli"));
  LoadConnectors(c, r.Find("connectors"));
  LoadSplices(c, r.Find("splices"));
  LoadWires(c, r.Find("wires"));
  LoadFuses(c, r.Find("fuses"));
  LoadRelays(c, r.Find("relays"));
  LoadDiodes(c, r.Find("diodes"));
  LoadSupplies(c, r.Find("supplies"));
  LoadLoads(c, r.Find("loads"));
  LoadTriggers(c, r.Find("triggers"));
  LoadSensors(c, r.Find("sensors"));
  LoadPowerNodes(c, r.Find("power_nodes"));
  LoadBuses(c, r.Find("buses"));
  if (const Node* node = r.Find("controller")) LoadController(c, *node);
  LoadProtections(c, r.Find("protections"));
  LoadReadouts(c, r.Find("readouts"));
  if (const Node* node = r.Find("switching")) bench.switching = LoadSwitching(c, *node);
  if (const Node* node = r.Find("display")) LoadDisplay(c, *node);
  LoadDrives(c, r.Find("drives"));
  LoadFaultPriors(c, r.Find("fault_priors"));
  CheckCarried(c);
  const bool wired = !bench.triggers.empty() || !bench.sensors.empty() || bench.controller;
  if (wired && bench.supplies.empty()) {
    r.Require("supplies", "supplies: {battery: {plus: BAT.1, minus: BAT.2, voltage_v: 13.8}}");
  }
}

void LoadFaultPriors(BenchContext& c, const Node* node) {
  if (node == nullptr) return;
  Reader r(c.problems, *node, "'fault_priors'");
  for (const FaultPrior& prior : UsualFaultPriors()) r.Know(prior.kind);
  for (const FaultPrior& prior : UsualFaultPriors()) {
    const std::string kind(prior.kind);
    double weight = prior.weight;
    if (r.Get(kind, &weight, {"", kMinFaultPrior, kMaxFaultPrior})) {
      c.bench.fault_priors[kind] = weight;
    }
  }
}

std::vector<std::string> CircuitNames(const Bench& bench) {
  std::vector<std::string> names;
  std::set<std::string_view> known;
  for (const Wire& wire : bench.wires) {
    if (known.insert(wire.circuit).second) names.push_back(wire.circuit);
  }
  return names;
}

MessageRef ResolveMessage(Problems& problems, const Bench& bench, const Ref& ref) {
  const MessageRef at = FindMessage(bench, ref.text);
  if (at.bus >= 0) return at;
  std::vector<std::string> known;
  for (const Bus& bus : bench.buses) {
    for (const Message& message : bus.messages) known.push_back(message.name);
  }
  Resolve(problems, ref, known, "message");
  return {};
}

SignalRef ResolveSignal(Problems& problems, const Bench& bench, const Ref& ref) {
  const SignalRef at = FindSignal(bench, ref.text);
  if (at.signal >= 0) return at;
  const auto dot = ref.text.find('.');
  if (dot == std::string::npos) {
    problems.Add(ref.place, fmt::format("'{}' is not a signal of a message", ref.text),
                 "write message.signal, as engine_temps.coolant");
    return {};
  }
  if (at.bus < 0) {
    ResolveMessage(problems, bench, {ref.text.substr(0, dot), ref.place});
    return {};
  }
  const Message& message = MessageAt(bench, {at.bus, at.message});
  Resolve(problems, {ref.text.substr(dot + 1), ref.place}, NamesOf(message.signals),
          fmt::format("signal in message '{}' named", message.name));
  return {};
}

void CheckUnits(Problems& problems, const Place& place, const std::string& what,
                const std::string& from, const std::string& to) {
  if (from.empty() || to.empty() || Convert(0, from, to)) return;
  problems.Add(place, fmt::format("{}: {} does not convert to {}", what, from, to),
               fmt::format("units that do: {}", fmt::join(UnitsLike(from), ", ")));
}

}  // namespace drycrank::profile
