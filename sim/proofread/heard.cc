// SPDX-License-Identifier: Apache-2.0
#include "proofread/heard.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <string>

#include "plant/hearing.h"

namespace drycrank::proofread {
namespace {

using plant::Party;

constexpr const char* kRemedy =
    "'drycrank schedule check' names wires and terminations that are missing; without 'nodes' the "
    "wires of a bus are taken for right";

// All places that fitted wires join with this one.
std::set<std::string> JoinedWith(const profile::Bench& bench, const std::string& place) {
  std::set<std::string> joined = {place};
  for (std::size_t before = 0; before != joined.size();) {
    before = joined.size();
    for (const profile::Wire& wire : bench.wires) {
      if (!wire.fitted) continue;
      if (joined.contains(wire.from)) joined.insert(wire.to);
      if (joined.contains(wire.to)) joined.insert(wire.from);
    }
  }
  return joined;
}

// "; no wire joins ECU.33 and DSP.3 (CAN high)": each node that is apart from the first, for either
// wire of the pair.
std::string PartedWires(const profile::Bench& bench, const profile::Bus& bus) {
  std::string parted;
  const auto add = [&](std::string profile::BusNode::*pin, const char* name) {
    if (bus.nodes.empty()) return;
    const std::string& first = bus.nodes[0].*pin;
    const std::set<std::string> joined = JoinedWith(bench, first);
    for (const profile::BusNode& node : bus.nodes) {
      if (joined.contains(node.*pin)) continue;
      parted += fmt::format("; no wire joins {} and {} ({})", first, node.*pin, name);
    }
  };
  add(&profile::BusNode::high, "CAN high");
  add(&profile::BusNode::low, "CAN low");
  return parted;
}

bool Sends(const profile::Bus& bus, profile::Sender sender) {
  return std::ranges::count(bus.messages, sender, &profile::Message::sender) > 0;
}

}  // namespace

Diagnostics NotHeard(const profile::Bench& bench) {
  Diagnostics problems;
  if (!plant::HasBusWires(bench)) return problems;
  const std::vector<plant::Hearing> hearing = plant::HearingOf(bench, {});
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    const profile::Bus& bus = bench.buses[b];
    const auto say = [&](const char* what) {
      problems.push_back({bus.nodes.empty() ? bus.place : bus.nodes[0].place,
                          fmt::format("bus {}: by its wires as drawn {}{}", bus.name, what,
                                      PartedWires(bench, bus)),
                          kRemedy});
    };
    const bool by_controller = Sends(bus, profile::Sender::kController);
    const bool silent = by_controller && !hearing[b].Hears(Party::kController, Party::kComputer);
    if (silent) say("nobody hears the controller");
    const bool is_node = profile::IndexOf(bus.nodes, "display") >= 0;
    if (!bus.nodes.empty() && Sends(bus, profile::Sender::kDisplay) && !is_node) {
      problems.push_back({bus.nodes[0].place,
                          fmt::format("bus {}: no node is called display, and the display sends on "
                                      "it: its wires are taken for right",
                                      bus.name),
                          "call its node 'display'"});
    }
    const bool mute = Sends(bus, profile::Sender::kDisplay) &&
                      !hearing[b].Hears(Party::kDisplay, Party::kComputer);
    const bool deaf = bench.display && by_controller && !silent &&
                      !hearing[b].Hears(Party::kController, Party::kDisplay);
    if ((mute || deaf) && !hearing[b].IsPowered(Party::kDisplay)) {
      say("the display has no supply: it is dark");
    } else if (mute && deaf) {
      say("nobody hears the display, and it does not hear the controller");
    } else if (mute) {
      say("nobody hears the display");
    } else if (deaf) {
      say("the display does not hear the controller");
    }
  }
  return problems;
}

}  // namespace drycrank::proofread
