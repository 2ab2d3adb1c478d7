// SPDX-License-Identifier: Apache-2.0
#include "schedule/schedule.h"

#include <algorithm>

#include "profile/wire_gauge.h"
#include "types/nth.h"

namespace drycrank::schedule {
namespace {

ScheduleWire ScheduleWireOf(const profile::Wire& wire) {
  const auto cell = [&](const std::string& text) { return Cell{text, wire.place}; };
  ScheduleWire made;
  made.circuit = cell(wire.circuit);
  made.from = cell(wire.from);
  made.to = cell(wire.to);
  made.gauge = cell(wire.has_gauge ? wire.gauge : "");
  made.length = cell("");
  if (wire.has_length) made.length_m = wire.length_m;
  made.colour = cell(wire.colour);
  made.twist = cell(wire.twist);
  made.place = wire.place;
  made.fitted = wire.fitted;
  made.fuse_a = wire.fuse_a;
  made.fuse_mohm = wire.mohm_per_m;
  return made;
}

profile::Wire WireOf(const ScheduleWire& line) {
  profile::Wire wire;
  wire.circuit = line.circuit.text;
  wire.from = line.from.text;
  wire.to = line.to.text;
  if (const auto data = profile::FindWireGauge(line.gauge.text)) {
    wire.gauge = line.gauge.text;
    wire.area_mm2 = data->area_mm2;
    wire.mohm_per_m = data->mohm_per_m;
    wire.has_gauge = true;
  }
  if (line.length_m) {
    wire.length_m = *line.length_m;
    wire.has_length = true;
  }
  wire.colour = line.colour.text;
  wire.twist = line.twist.text;
  wire.place = line.place;
  wire.fitted = line.fitted;
  wire.fuse_a = line.fuse_a;
  if (line.IsFuse()) wire.mohm_per_m = line.fuse_mohm;
  return wire;
}

bool HasEnd(const profile::Bench& bench, const std::string& end) {
  if (!IsTerminal(end)) {
    return std::find(bench.splices.begin(), bench.splices.end(), end) != bench.splices.end();
  }
  const int at = profile::IndexOf(bench.connectors, ConnectorOf(end));
  if (at < 0) return false;
  const auto& pins = Nth(bench.connectors, at).pins;
  return std::find(pins.begin(), pins.end(), PinOf(end)) != pins.end();
}

}  // namespace

std::string_view ConnectorOf(std::string_view end) {
  const auto dot = end.find('.');
  return dot == std::string_view::npos ? std::string_view() : end.substr(0, dot);
}

std::string_view PinOf(std::string_view end) {
  const auto dot = end.find('.');
  return dot == std::string_view::npos ? std::string_view() : end.substr(dot + 1);
}

Schedule ScheduleOf(const profile::Bench& bench) {
  Schedule schedule{bench.file,   bench.connectors, bench.splices, {},
                    bench.relays, bench.diodes,     {}};
  for (const profile::Wire& wire : bench.wires) {
    if (wire.IsFuse() && !wire.fitted) continue;  // an empty place in the box
    schedule.wires.push_back(ScheduleWireOf(wire));
  }
  return schedule;
}

void AddFusesOf(const profile::Bench& bench, Schedule& schedule) {
  for (const profile::Wire& wire : bench.wires) {
    const auto is_named = [&](const ScheduleWire& line) {
      return line.circuit.text == wire.circuit;
    };
    if (!wire.IsFuse() || !wire.fitted || std::ranges::any_of(schedule.wires, is_named)) continue;
    schedule.wires.push_back(ScheduleWireOf(wire));
  }
}

profile::Bench BenchWith(const profile::Bench& bench, const Schedule& schedule) {
  profile::Bench made = bench;
  for (const profile::Connector& connector : schedule.connectors) {
    if (profile::IndexOf(made.connectors, connector.name) < 0) made.connectors.push_back(connector);
  }
  for (const profile::Relay& relay : schedule.relays) {
    if (profile::IndexOf(made.relays, relay.name) < 0) made.relays.push_back(relay);
  }
  made.splices = schedule.splices;
  made.wires.clear();
  for (const ScheduleWire& line : schedule.wires) {
    const bool fits = HasEnd(made, line.from.text) && HasEnd(made, line.to.text) &&
                      line.from.text != line.to.text;
    if (fits) made.wires.push_back(WireOf(line));
  }
  return made;
}

}  // namespace drycrank::schedule
