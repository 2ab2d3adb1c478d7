// SPDX-License-Identifier: Apache-2.0
//
// Which circuits a load needs in order to act, for what a witness says of it. The controller's output
// is closed (50 mohm, to its ground for a low side, to its supply for a high side); a circuit is needed
// when with any of its wires open the load has less than half of the volts it has on the whole
// harness. Of two grounds in parallel neither is: the pump runs on one.
#ifndef DRYCRANK_STUDY_LOADS_H_
#define DRYCRANK_STUDY_LOADS_H_

#include <string>
#include <vector>

#include "profile/bench.h"

namespace drycrank::study {

// Of these circuits, those that the output's load cannot do without.
std::vector<std::string> CircuitsNeededBy(const profile::Bench& bench,
                                          const profile::ControllerOutput& output,
                                          const std::vector<std::string>& circuits);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_LOADS_H_
