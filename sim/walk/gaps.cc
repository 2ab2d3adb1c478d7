// SPDX-License-Identifier: Apache-2.0
#include "walk/gaps.h"

#include <fmt/format.h>

#include <algorithm>

#include "profile/sensors.h"
#include "profile/triggers.h"
#include "types/nth.h"
#include "walk/device_wires.h"

namespace drycrank::walk {
namespace {

using profile::Bench;

bool IsOf(const Bench& bench, const profile::Wire& wire,
          const std::vector<std::string>& terminals) {
  const auto circuits = CircuitsOf(bench, terminals);
  return std::find(circuits.begin(), circuits.end(), wire.circuit) != circuits.end();
}

// What of the wire's device is on paper only; empty: all of it is there.
std::string UnfittedAt(const Bench& bench, const profile::Wire& wire) {
  if (!wire.fitted) return "the wire is on paper only";
  for (const profile::Sensor& sensor : bench.sensors) {
    if (!sensor.fitted && IsOf(bench, wire, Terminals(sensor.model))) {
      return "sensor " + sensor.name;
    }
  }
  for (const profile::Trigger& trigger : bench.triggers) {
    if (!trigger.fitted && IsOf(bench, wire, Terminals(trigger.pickup))) {
      return "sensor " + trigger.name;
    }
  }
  for (const profile::ControllerOutput& output : bench.controller->outputs) {
    const profile::Load& load = Nth(bench.loads, output.load);
    if (!output.fitted && IsOf(bench, wire, {load.plus, load.minus})) return output.label;
  }
  return "";
}

std::string WhyNot(const Bench& bench, const profile::Wire& wire,
                   const std::map<std::string, std::string>& reasons) {
  for (const profile::Sensor& sensor : bench.sensors) {
    if (!IsOf(bench, wire, Terminals(sensor.model))) continue;
    const auto reason = reasons.find(sensor.name);
    if (reason != reasons.end()) return reason->second;
    return fmt::format("sensor {} leads to no channel of the controller", sensor.name);
  }
  for (const profile::Trigger& trigger : bench.triggers) {
    const auto reason = reasons.find(trigger.name);
    if (reason != reasons.end() && IsOf(bench, wire, Terminals(trigger.pickup))) {
      return reason->second;
    }
  }
  return "no device of this bench is driven through it, and no message shows its effect";
}

}  // namespace

std::set<std::string> ProvenBy(const std::vector<profile::Expectation>& expectations) {
  std::set<std::string> proven;
  for (const profile::Expectation& e : expectations) {
    proven.insert(e.proves.begin(), e.proves.end());
  }
  return proven;
}

void ListUnproven(const Bench& bench, const std::map<std::string, std::string>& reasons,
                  Walk& walk) {
  std::set<std::string> settled = ProvenBy(walk.scenario.expectations);
  for (const WalkQuestion& question : walk.questions) {
    settled.insert(question.circuits.begin(), question.circuits.end());
  }
  for (const profile::Wire& wire : bench.wires) {
    if (!settled.insert(wire.circuit).second) continue;
    const std::string unfitted = UnfittedAt(bench, wire);
    if (unfitted.empty()) {
      walk.not_provable.push_back({wire.circuit, WhyNot(bench, wire, reasons)});
    } else {
      walk.not_fitted.push_back({wire.circuit, unfitted});
    }
  }
}

}  // namespace drycrank::walk
