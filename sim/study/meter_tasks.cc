// SPDX-License-Identifier: Apache-2.0
#include "study/meter_tasks.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <deque>
#include <set>
#include <span>

#include "diagnose/meter.h"
#include "diagnose/unfed.h"
#include "profile/bus_nodes.h"
#include "study/bus_seen.h"

namespace drycrank::study {
namespace {

using diagnose::Meter;
using profile::Bench;

constexpr double kTerminationOhm = 120, kLeastTerminationOhm = 100, kMostTerminationOhm = 130;
constexpr double kMostMoreOhm = 1;

bool IsSplice(const Bench& bench, const std::string& place) {
  return std::ranges::find(bench.splices, place) != bench.splices.end();
}

std::string PlugOf(const std::string& terminal) { return terminal.substr(0, terminal.find('.')); }

std::string NodeOf(const Bench& bench, const std::string& place) {
  return IsSplice(bench, place) ? place : place + "~";
}

// The bench and its meter model, which holds copies of the bench: built once, not for each reading.
struct Drawn {
  explicit Drawn(const Bench& of) : bench(of), meter(of) {}
  const Bench& bench;
  const diagnose::MeterModel meter;
};

double Expected(const Drawn& drawn, const MeterLeg& leg, std::span<const profile::Fault> faults) {
  const Bench& bench = drawn.bench;
  const diagnose::Probing probing{Meter::kOhms, NodeOf(bench, leg.plus), NodeOf(bench, leg.minus),
                                  leg.pulled, diagnose::RestOf(bench)};
  return diagnose::FromScale(Meter::kOhms, drawn.meter.Expect(probing, faults).y);
}

std::vector<std::string> EndsOf(const profile::Wire& wire) { return {wire.from, wire.to}; }

// Each place at which a wire of the circuit ends, in the order of its wires.
std::vector<std::string> PlacesOf(const Bench& bench, const std::string& circuit) {
  std::vector<std::string> places;
  for (const profile::Wire& wire : bench.wires) {
    if (wire.circuit != circuit || !wire.fitted) continue;
    for (const std::string& end : EndsOf(wire)) {
      if (std::ranges::find(places, end) == places.end()) places.push_back(end);
    }
  }
  return places;
}

// Does the circuit end here? At a splice within it, it goes on.
bool IsEnd(const Bench& bench, const std::string& circuit, const std::string& place) {
  return !IsSplice(bench, place) ||
         std::ranges::count_if(bench.wires, [&](const profile::Wire& wire) {
           return wire.fitted && wire.circuit == circuit && (wire.from == place || wire.to == place);
         }) == 1;
}

using Circuits = std::set<std::string>;

// The nearest terminal behind a splice, by wires of these circuits; empty where there is none.
std::string TerminalBehind(const Bench& bench, const Circuits& by, const std::string& splice) {
  std::set<std::string> seen{splice};
  std::deque<std::string> left{splice};
  while (!left.empty()) {
    const std::string place = left.front();
    left.pop_front();
    if (!IsSplice(bench, place)) return place;
    for (const profile::Wire& wire : bench.wires) {
      if (!wire.fitted || !by.contains(wire.circuit) || (wire.from != place && wire.to != place)) continue;
      const std::string& other = wire.from == place ? wire.to : wire.from;
      if (seen.insert(other).second) left.push_back(other);
    }
  }
  return "";
}

Circuits AllBut(const Bench& bench, const std::string& circuit) {
  Circuits all;
  for (const profile::Wire& wire : bench.wires) all.insert(wire.circuit);
  all.erase(circuit);
  return all;
}

std::string ReachedAt(const Bench& bench, const Circuits& proven, const std::string& circuit,
                      const std::string& place) {
  if (!IsSplice(bench, place)) return place;
  std::string at = TerminalBehind(bench, proven, place);
  if (at.empty()) at = TerminalBehind(bench, AllBut(bench, circuit), place);
  return at.empty() ? place : at;
}

std::vector<std::string> ProbedAt(const Bench& bench, const Circuits& proven, const std::string& circuit) {
  std::vector<std::string> probed;
  for (const std::string& place : PlacesOf(bench, circuit)) {
    if (!IsEnd(bench, circuit, place)) continue;
    const std::string at = ReachedAt(bench, proven, circuit, place);
    if (std::ranges::find(probed, at) == probed.end()) probed.push_back(at);
  }
  return probed;
}

MeterLeg LegOf(const Drawn& drawn, const std::string& plus, const std::string& minus) {
  MeterLeg leg{plus, minus, {}, 0, 0, 0};
  for (const std::string& place : {plus, minus}) {
    if (IsSplice(drawn.bench, place)) continue;
    if (std::ranges::find(leg.pulled, PlugOf(place)) == leg.pulled.end()) leg.pulled.push_back(PlugOf(place));
  }
  leg.drawn_ohm = Expected(drawn, leg, {});
  leg.most_ohm = leg.drawn_ohm + kMostMoreOhm;
  return leg;
}

std::optional<MeterTask> RingOut(const Drawn& drawn, const Circuits& proven, const std::string& circuit) {
  const std::vector<std::string> probed = ProbedAt(drawn.bench, proven, circuit);
  MeterTask task{circuit, fmt::format("Circuit {}, to be rung out", circuit), {circuit}, {}};
  for (std::size_t i = 1; i < probed.size(); ++i) task.legs.push_back(LegOf(drawn, probed[i], probed[0]));
  const std::vector<MeterLeg>& legs = task.legs;
  const bool finite = std::ranges::all_of(legs, [](const MeterLeg& leg) { return std::isfinite(leg.drawn_ohm); });
  const auto tells = [&](const profile::Fault& open) {
    return std::ranges::any_of(legs, [&](const MeterLeg& leg) {
      return !IsWhole(leg, Expected(drawn, leg, std::span(&open, 1)));
    });
  };
  if (!finite || !EachOpenTells(drawn.bench, circuit, tells)) return std::nullopt;
  return task;
}

bool IsLeftToMeter(const check::CircuitCoverage& c) {
  using check::Gap;
  return c.state == check::CircuitState::kNotShown &&
         (c.gap == Gap::kNeedsMeter || c.gap == Gap::kAnotherWay || c.gap == Gap::kNotDriven);
}

}  // namespace

bool IsWhole(const MeterLeg& leg, double ohm) { return ohm >= leg.least_ohm && ohm <= leg.most_ohm; }

std::optional<MeterTask> PairTask(const Bench& bench, const walk::WalkQuestion& question) {
  for (const profile::Bus& bus : bench.buses) {
    if (question.output >= 0 || profile::TerminationQuestion(bus) != question.name) continue;
    const auto ended = std::ranges::find_if(
        bus.nodes, [](const profile::BusNode& node) { return node.termination_ohm > 0; });
    if (ended == bus.nodes.end()) continue;
    MeterLeg leg{ended->high, ended->low, {}, 0, 0, 0};
    leg.drawn_ohm = Expected(Drawn(bench), leg, {});
    leg.least_ohm = leg.drawn_ohm * kLeastTerminationOhm / kTerminationOhm;
    leg.most_ohm = leg.drawn_ohm * kMostTerminationOhm / kTerminationOhm;
    return MeterTask{question.name, question.title, question.circuits, {leg}};
  }
  return std::nullopt;
}

std::vector<MeterTask> RingOuts(const Bench& bench, const std::vector<check::CircuitCoverage>& coverage) {
  Circuits proven;
  for (const check::CircuitCoverage& c : coverage) {
    if (c.state == check::CircuitState::kProven) proven.insert(c.circuit);
  }
  const Drawn drawn(bench);
  std::vector<MeterTask> tasks;
  for (const check::CircuitCoverage& c : coverage) {
    if (!IsLeftToMeter(c)) continue;
    if (auto task = RingOut(drawn, proven, c.circuit)) tasks.push_back(std::move(*task));
  }
  return tasks;
}

std::string InWords(const profile::MeterReading& reading) {
  const std::string from = reading.meter.empty() ? "typed" : "read from " + reading.meter;
  return fmt::format("{} from {} to {}, {}{}, {}", diagnose::InWords(Meter::kOhms, reading.ohm), reading.plus,
                     reading.minus, from, reading.by.empty() ? "" : " by " + reading.by, reading.time);
}

}  // namespace drycrank::study
