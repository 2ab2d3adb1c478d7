// SPDX-License-Identifier: Apache-2.0
#include "walk/device_wires.h"

#include <algorithm>
#include <set>

#include "profile/device_leads.h"
#include "profile/devices.h"
#include "profile/wire_ends.h"

namespace drycrank::walk {
namespace {

using profile::Bench;

// Where one gets from a terminal through the part that it belongs to.
std::vector<std::string> BehindPart(const Bench& bench, const std::string& terminal) {
  std::vector<std::string> behind;
  for (const auto& [a, b] : profile::PartWays(bench)) {
    if (a == terminal) behind.push_back(b);
    if (b == terminal) behind.push_back(a);
  }
  return behind;
}

bool LeadsOn(const Bench& bench, const std::string& place) {
  return profile::IsJoint(bench, place) || !BehindPart(bench, place).empty();
}

// Calls visit(wire, far end) for every wire from `terminals` on, through splices, plugs between two
// pieces of harness, fuses, and the contacts of relays.
template <class Visit>
void Follow(const Bench& bench, const std::vector<std::string>& terminals, const Visit& visit) {
  std::vector<std::string> open = terminals;
  std::set<std::string> seen(terminals.begin(), terminals.end());
  const auto go_on = [&](const std::string& place) {
    if (seen.insert(place).second) open.push_back(place);
  };
  while (!open.empty()) {
    const std::string at = open.back();
    open.pop_back();
    for (const profile::Wire& wire : bench.wires) {
      if (wire.from != at && wire.to != at) continue;
      const std::string& far = wire.from == at ? wire.to : wire.from;
      visit(wire, far);
      if (LeadsOn(bench, far)) go_on(far);
    }
    for (const std::string& behind : BehindPart(bench, at)) go_on(behind);
  }
}

bool IsControllerOrSupply(const Bench& bench, const std::string& terminal) {
  const std::string connector = terminal.substr(0, terminal.find('.'));
  const auto at = [&](const std::string& t) { return t.substr(0, t.find('.')) == connector; };
  for (const profile::Supply& supply : bench.supplies) {
    if (at(supply.plus) || at(supply.minus)) return true;
  }
  return bench.controller && (at(bench.controller->ground) || at(bench.controller->supply));
}

}  // namespace

std::vector<std::string> SignalTerminals(const profile::SensorModel& model) {
  const profile::DeviceLeads leads = profile::LeadsOf(model);
  if (leads.leads == profile::Leads::kThree) return {leads.signal};
  return leads.terminals();
}

std::vector<std::string> Terminals(const profile::SensorModel& model) {
  return profile::LeadsOf(model).terminals();
}

std::vector<std::string> Terminals(const profile::Pickup& pickup) {
  return profile::LeadsOf(pickup).terminals();
}

std::vector<std::string> CircuitsOf(const Bench& bench, const std::vector<std::string>& terminals) {
  std::set<std::string> circuits;
  const std::set<std::string> own(terminals.begin(), terminals.end());
  Follow(bench, terminals, [&](const profile::Wire& wire, const std::string& far) {
    // From a splice on, only what leads to the controller or the supply belongs to this device.
    const bool own_wire = own.contains(wire.from) || own.contains(wire.to);
    const bool home = IsControllerOrSupply(bench, far) || LeadsOn(bench, far);
    if (own_wire || home) circuits.insert(wire.circuit);
  });
  return {circuits.begin(), circuits.end()};
}

std::vector<std::string> CoilsAt(const Bench& bench, const std::string& output) {
  std::vector<std::string> coils;
  Follow(bench, {output}, [&](const profile::Wire&, const std::string& far) {
    for (const profile::Relay& relay : bench.relays) {
      if (far != relay.coil_plus && far != relay.coil_minus) continue;
      coils.insert(coils.end(), {relay.coil_plus, relay.coil_minus});
    }
  });
  return coils;
}

std::string InputOf(const Bench& bench, const std::string& terminal) {
  std::string found;
  Follow(bench, {terminal}, [&](const profile::Wire&, const std::string& far) {
    for (const profile::InputCircuit& input : bench.controller->inputs) {
      if (found.empty() && input.terminal == far) found = far;
    }
  });
  return found;
}

}  // namespace drycrank::walk
