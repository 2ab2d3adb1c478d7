// SPDX-License-Identifier: Apache-2.0
#include "profile/bus_nodes.h"

#include <algorithm>

#include "profile/wire_ends.h"

namespace drycrank::profile {

std::vector<std::string> BusNodeNames(const Bench& bench) {
  std::vector<std::string> names;
  for (const Bus& bus : bench.buses) {
    for (const BusNode& node : bus.nodes) names.push_back(NodeName(bus, node));
  }
  return names;
}

const BusNode* FindBusNode(const Bench& bench, std::string_view bus_dot_node) {
  for (const Bus& bus : bench.buses) {
    for (const BusNode& node : bus.nodes) {
      if (NodeName(bus, node) == bus_dot_node) return &node;
    }
  }
  return nullptr;
}

namespace {

// Plugs of the controller: those of its supply, its grounds and its inputs.
bool IsOnController(const Controller& controller, const std::string& plug) {
  const auto on = [&](const std::string& terminal) { return PlugOf(terminal) == plug; };
  return on(controller.supply) || on(controller.ground) ||
         std::ranges::any_of(controller.more_supplies, on) ||
         std::ranges::any_of(controller.more_grounds, on) ||
         std::ranges::any_of(controller.inputs,
                             [&](const auto& input) { return on(input.terminal); });
}

}  // namespace

int NodeOfController(const Bench& bench, const Bus& bus) {
  const auto at = std::ranges::find_if(bus.nodes, [&](const BusNode& node) {
    return bench.controller && IsOnController(*bench.controller, PlugOf(node.high));
  });
  return at == bus.nodes.end() ? -1 : static_cast<int>(at - bus.nodes.begin());
}

bool HasListeningDisplay(const Bus& bus) {
  return IndexOf(bus.nodes, "display") >= 0 &&
         std::ranges::none_of(bus.messages, [](const Message& message) {
           return message.sender == Sender::kDisplay && message.period_ms > 0;
         });
}

bool HasTerminations(const Bus& bus) {
  return std::ranges::any_of(bus.nodes,
                             [](const BusNode& node) { return node.termination_ohm > 0; });
}

std::vector<std::string> BusQuestionNames(const Bench& bench) {
  std::vector<std::string> names;
  for (const Bus& bus : bench.buses) {
    if (HasListeningDisplay(bus)) names.emplace_back(kDisplayQuestion);
    if (HasTerminations(bus)) names.push_back(TerminationQuestion(bus));
  }
  return names;
}

}  // namespace drycrank::profile
