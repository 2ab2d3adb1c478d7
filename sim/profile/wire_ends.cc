// SPDX-License-Identifier: Apache-2.0
#include "profile/wire_ends.h"

#include <algorithm>
#include <set>

namespace drycrank::profile {
namespace {

bool IsTerminal(const std::string& place) { return place.find('.') != std::string::npos; }

std::set<std::string> InLinePins(const Bench& bench) {
  std::set<std::string> pins;
  for (const Connector& connector : bench.connectors) {
    if (!connector.in_line) continue;
    for (const std::string& pin : connector.pins) pins.insert(connector.name + "." + pin);
  }
  return pins;
}

}  // namespace

std::vector<WireEnds> WireEndsOf(const Bench& bench) {
  std::vector<WireEnds> all;
  // Pins between two pieces of harness whose own side is free.
  std::set<std::string> in_line = InLinePins(bench);
  const auto end = [&](const Wire& wire, const std::string& place) {
    const bool at_pin = !IsTerminal(place) || wire.IsFuse() || in_line.erase(place) > 0;
    return at_pin ? place : place + "~";
  };
  for (const Wire& wire : bench.wires) {
    WireEnds& ends = all.emplace_back();
    ends.from = end(wire, wire.from);
    ends.to = end(wire, wire.to);
  }
  return all;
}

bool IsJoint(const Bench& bench, const std::string& place) {
  if (!IsTerminal(place)) return std::ranges::count(bench.splices, place) > 0;
  const auto ends_here = [&](const Wire& wire) { return wire.from == place || wire.to == place; };
  return std::ranges::count_if(bench.wires, ends_here) > 1;
}

std::vector<std::pair<std::string, std::string>> PartWays(const Bench& bench) {
  std::vector<std::pair<std::string, std::string>> ways;
  for (const Relay& relay : bench.relays) {
    ways.emplace_back(relay.common, relay.normally_open);
    if (!relay.normally_closed.empty()) ways.emplace_back(relay.common, relay.normally_closed);
  }
  for (const Diode& diode : bench.diodes) ways.emplace_back(diode.anode, diode.cathode);
  return ways;
}

}  // namespace drycrank::profile
