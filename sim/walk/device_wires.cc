// SPDX-License-Identifier: Apache-2.0
#include "walk/device_wires.h"

#include <algorithm>
#include <map>
#include <set>

#include "profile/device_leads.h"
#include "profile/sensors.h"
#include "profile/triggers.h"
#include "profile/wire_ends.h"

namespace drycrank::walk {
namespace {

using profile::Bench;

using profile::PlugOf;

bool LeadsOn(const Bench& bench, const std::string& place) {
  return profile::IsJoint(bench, place) || !profile::BehindPart(bench, place).empty();
}

// Plugs of supplies and of the controller.
std::set<std::string> HomePlugs(const Bench& bench) {
  std::set<std::string> plugs;
  const auto add = [&](const std::string& terminal) { plugs.insert(PlugOf(terminal)); };
  for (const profile::Supply& supply : bench.supplies) add(supply.plus), add(supply.minus);
  if (!bench.controller) return plugs;
  const profile::Controller& controller = *bench.controller;
  add(controller.supply);
  add(controller.ground);
  for (const auto* pins :
       {&controller.more_supplies, &controller.more_grounds, &controller.sensor_grounds}) {
    for (const std::string& pin : *pins) add(pin);
  }
  for (const auto& reference : controller.references) add(reference.terminal);
  for (const auto& input : controller.inputs) add(input.terminal);
  for (const auto& output : controller.outputs) add(output.terminal);
  return plugs;
}

// The ways from a device's terminals home: to the controller and the supplies; through splices,
// plugs between two pieces of harness, fuses, switches in feeds, and the contacts of relays, with
// what feeds their coils. What branches off to another device is none of them, nor is a feed of the
// controller that branches off in front of a fuse or a relay.
class WaysHome {
 public:
  explicit WaysHome(const Bench& bench) : bench_(bench), home_(HomePlugs(bench)) {}

  // The device's own wires, and all on the ways.
  std::set<std::string> CircuitsFrom(const std::vector<std::string>& terminals) {
    open_ = terminals;
    for (std::size_t i = 0; i < open_.size(); ++i) TakeOwn(std::string(open_[i]));
    return std::move(circuits_);
  }

 private:
  static bool EndsAt(const profile::Wire& wire, const std::string& place) {
    return wire.from == place || wire.to == place;
  }

  void TakeOwn(const std::string& terminal) {
    leads_ = {{terminal, false}};  // of this one: a way goes through no place twice
    for (const profile::Wire& wire : bench_.wires) {
      if (!EndsAt(wire, terminal)) continue;
      circuits_.insert(wire.circuit);
      const std::string& far = wire.from == terminal ? wire.to : wire.from;
      if (!IsHome(far, false) && LeadsOn(bench_, far)) Go(far, wire.IsFuse());
    }
  }

  bool IsHome(const std::string& place, bool behind_part) const {
    if (place.find('.') == std::string::npos || !home_.contains(PlugOf(place))) return false;
    const auto& controller = bench_.controller;
    const bool feeds = controller && (place == controller->supply ||
                                      std::ranges::count(controller->more_supplies, place) > 0);
    return !(feeds && behind_part);
  }

  // Whether a way from here leads home.
  bool Go(const std::string& at, bool behind_part) {
    const auto [known, is_new] = leads_.emplace(at, false);
    if (!is_new) return known->second;
    bool leads = false;
    for (const profile::Wire& wire : bench_.wires) {
      if (!EndsAt(wire, at)) continue;
      const std::string& far = wire.from == at ? wire.to : wire.from;
      const bool behind = behind_part || wire.IsFuse();
      if (!IsHome(far, behind) && (!LeadsOn(bench_, far) || !Go(far, behind))) continue;
      circuits_.insert(wire.circuit);
      leads = true;
    }
    for (const std::string& behind : profile::BehindPart(bench_, at)) {
      if (!Go(behind, true)) continue;
      leads = true;
      for (const std::string& coil : profile::CoilBehind(bench_, at)) {
        if (std::ranges::count(open_, coil) == 0) open_.push_back(coil);
      }
    }
    leads_[at] = leads;
    return leads;
  }

  const Bench& bench_;
  const std::set<std::string> home_;
  std::vector<std::string> open_;  // terminals whose own wires belong to it
  std::map<std::string, bool> leads_;
  std::set<std::string> circuits_;
};

// Calls visit(far end) for every wire from `terminal` on, through splices and plugs between two
// pieces of harness.
template <class Visit>
void Follow(const Bench& bench, const std::string& terminal, const Visit& visit) {
  std::vector<std::string> open = {terminal};
  std::set<std::string> seen = {terminal};
  while (!open.empty()) {
    const std::string at = open.back();
    open.pop_back();
    for (const profile::Wire& wire : bench.wires) {
      if (wire.from != at && wire.to != at) continue;
      const std::string& far = wire.from == at ? wire.to : wire.from;
      visit(far);
      if (profile::IsJoint(bench, far) && seen.insert(far).second) open.push_back(far);
    }
  }
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
  const std::set<std::string> circuits = WaysHome(bench).CircuitsFrom(terminals);
  return {circuits.begin(), circuits.end()};
}

std::vector<std::string> CoilsAt(const Bench& bench, const std::string& output) {
  std::vector<std::string> coils;
  Follow(bench, output, [&](const std::string& far) {
    for (const profile::Relay& relay : bench.relays) {
      if (far != relay.coil_plus && far != relay.coil_minus) continue;
      coils.insert(coils.end(), {relay.coil_plus, relay.coil_minus});
    }
  });
  return coils;
}

std::string InputOf(const Bench& bench, const std::string& terminal) {
  std::string found;
  Follow(bench, terminal, [&](const std::string& far) {
    for (const profile::InputCircuit& input : bench.controller->inputs) {
      if (found.empty() && input.terminal == far) found = far;
    }
  });
  return found;
}

}  // namespace drycrank::walk
