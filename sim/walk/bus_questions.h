// SPDX-License-Identifier: Apache-2.0
//
// What of the wires of a bus no message proves, and a person is asked: whether a display that only
// listens shows values, and once for each bus what a meter shows across the pair. On short wires one
// termination is enough, so that no message tells of one that is missing.
#ifndef DRYCRANK_WALK_BUS_QUESTIONS_H_
#define DRYCRANK_WALK_BUS_QUESTIONS_H_

#include <vector>

#include "profile/bench.h"
#include "walk/outputs.h"

namespace drycrank::walk {

// Of buses that have their nodes on the schedule.
std::vector<WalkQuestion> BusQuestions(const profile::Bench& bench);

}  // namespace drycrank::walk

#endif  // DRYCRANK_WALK_BUS_QUESTIONS_H_
