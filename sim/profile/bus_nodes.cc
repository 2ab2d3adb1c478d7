// SPDX-License-Identifier: Apache-2.0
#include "profile/bus_nodes.h"

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

}  // namespace drycrank::profile
