// SPDX-License-Identifier: Apache-2.0
#include "profile/wire_ends.h"

#include <algorithm>
#include <set>
#include <utility>
#include <variant>

#include "profile/conductors.h"
#include "profile/sensors.h"

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
  int wires = 0;
  for (const Wire& wire : bench.wires) {
    if ((wire.from == place || wire.to == place) && ++wires > 1) return true;
  }
  return false;
}

bool IsFeedSwitch(const Bench& bench, const Sensor& sensor) {
  const auto* contact = std::get_if<SwitchSensor>(&sensor.model);
  return contact != nullptr && !ReachesInput(bench, contact->plus) &&
         !ReachesInput(bench, contact->minus);
}

std::vector<std::string> BehindPart(const Bench& bench, const std::string& terminal) {
  std::vector<std::string> behind;
  const auto join = [&](const std::string& a, const std::string& b) {
    if (a == terminal && !b.empty()) behind.push_back(b);
    if (b == terminal) behind.push_back(a);
  };
  for (const Relay& relay : bench.relays) {
    join(relay.common, relay.normally_open);
    join(relay.common, relay.normally_closed);
  }
  for (const Diode& diode : bench.diodes) join(diode.anode, diode.cathode);
  for (const Sensor& sensor : bench.sensors) {
    const auto* contact = std::get_if<SwitchSensor>(&sensor.model);
    if (contact == nullptr || (contact->plus != terminal && contact->minus != terminal)) continue;
    if (IsFeedSwitch(bench, sensor)) join(contact->plus, contact->minus);
  }
  return behind;
}

std::vector<std::string> CoilBehind(const Bench& bench, const std::string& terminal) {
  for (const Relay& relay : bench.relays) {
    if (terminal == relay.common || terminal == relay.normally_open ||
        (terminal == relay.normally_closed && !terminal.empty())) {
      return {relay.coil_plus, relay.coil_minus};
    }
  }
  return {};
}

}  // namespace drycrank::profile
