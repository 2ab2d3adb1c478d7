// SPDX-License-Identifier: Apache-2.0
//
// What hangs together by wires: a fault in a wire on which nothing of the bench is modelled (a CAN
// pair, a spare) would be accepted and do nothing.
#ifndef DRYCRANK_PROFILE_CONDUCTORS_H_
#define DRYCRANK_PROFILE_CONDUCTORS_H_

#include <string>

#include "profile/bench.h"

namespace drycrank::profile {

// `at`: a terminal, splice or circuit. Do fitted wires join it to a terminal of a supply, a load, a
// sensor, a pickup or the controller (its supply, grounds, references and inputs)?
bool IsModelled(const Bench& bench, const std::string& at);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_CONDUCTORS_H_
