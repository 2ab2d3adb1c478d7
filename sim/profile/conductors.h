// SPDX-License-Identifier: Apache-2.0
//
// What hangs together by wires: a fault in a wire on which nothing of the bench is modelled (a CAN
// pair without `nodes`, a display's own supply without a load, a spare) would be accepted and do
// nothing.
//
//   modelled   the terminals of supplies, loads, relays, diodes, sensors, pickups and nodes of buses,
//              and those of the controller: supply, grounds, references, inputs, outputs
#ifndef DRYCRANK_PROFILE_CONDUCTORS_H_
#define DRYCRANK_PROFILE_CONDUCTORS_H_

#include <set>
#include <string>

#include "profile/bench.h"

namespace drycrank::profile {

// `at`: a terminal, splice or circuit. Do fitted wires join it to something modelled?
bool IsModelled(const Bench& bench, const std::string& at);

// `at`: a terminal or circuit. Does it lie between two things modelled, so that it makes a
// difference whether it conducts? (It may make none that anyone notices: where there is another
// way.)
bool IsBetweenModelled(const Bench& bench, const std::string& at);

// Do fitted wires join it to an input of the controller?
bool ReachesInput(const Bench& bench, const std::string& at);

// Terminals and splices that fitted wires join to a node of a bus. What a meter shows there on
// volts depends on what is just sent.
std::set<std::string> PlacesOnBus(const Bench& bench);

// Are the two one, or joined by fitted wires?
bool AreJoined(const Bench& bench, const std::string& a, const std::string& b);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_CONDUCTORS_H_
