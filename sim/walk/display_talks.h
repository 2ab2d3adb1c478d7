// SPDX-License-Identifier: Apache-2.0
//
// The wires of a display, where the bus's nodes are on the schedule: its pair and its supply. What
// the display sends comes along the one and is made by the other, so that its message proves all
// four. A termination that is missing is not seen by it: on short wires one is enough. The meter
// sees it.
#ifndef DRYCRANK_WALK_DISPLAY_TALKS_H_
#define DRYCRANK_WALK_DISPLAY_TALKS_H_

#include <vector>

#include "profile/bench.h"
#include "profile/scenario_file.h"

namespace drycrank::walk {

// Of the node's pair, and of the load of its name.
std::vector<std::string> TerminalsOf(const profile::Bench& bench, const profile::BusNode& node);

// One for each bus that has a node on a plug of the controller and a cyclic message of it: first its
// own supply and pair, before anybody looks at what a display makes of nothing.
std::vector<profile::Expectation> ControllerTalks(const profile::Bench& bench);
// One for each bus that has a node `display` and a cyclic message of it.
std::vector<profile::Expectation> DisplayTalks(const profile::Bench& bench);

}  // namespace drycrank::walk

#endif  // DRYCRANK_WALK_DISPLAY_TALKS_H_
