// SPDX-License-Identifier: Apache-2.0
#include "profile/bus_nodes.h"

#include <algorithm>

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
