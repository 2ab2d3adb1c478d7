// SPDX-License-Identifier: Apache-2.0
//
// Nodes of the buses by the name that a fault calls them: "vehicle.display".
#ifndef DRYCRANK_PROFILE_BUS_NODES_H_
#define DRYCRANK_PROFILE_BUS_NODES_H_

#include <string>
#include <string_view>
#include <vector>

#include "profile/bench.h"

namespace drycrank::profile {

inline std::string NodeName(const Bus& bus, const BusNode& node) { return bus.name + "." + node.name; }
std::vector<std::string> BusNodeNames(const Bench& bench);
// Null: there is none of that name.
const BusNode* FindBusNode(const Bench& bench, std::string_view bus_dot_node);

// The node on a plug of the controller; -1: there is none.
int NodeOfController(const Bench& bench, const Bus& bus);
// A display that is a node of a bus and sends no cyclic message there: who wants to know whether it
// is alive must look at it.
bool HasListeningDisplay(const Bus& bus);
bool HasTerminations(const Bus& bus);
// What a walk calls its questions about them, beside outputs and circuits.
inline constexpr const char* kDisplayQuestion = "display";
inline std::string TerminationQuestion(const Bus& bus) { return "termination_" + bus.name; }
std::vector<std::string> BusQuestionNames(const Bench& bench);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_BUS_NODES_H_
