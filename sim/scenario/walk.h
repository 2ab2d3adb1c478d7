// SPDX-License-Identifier: Apache-2.0
//
// The walk through a bench: a scenario that drives every circuit in turn from its own physics. Each
// sensor's quantity is held low, then high, while all others rest at values of their own, so that a
// neighbour cannot be taken for it; then the engine cranks and runs, and every cam is moved.
//
//   at_rest | coolant low | coolant high | oil low | … | cranking | running | cam advanced
//
// Its expectations prove the circuits between a device and the controller: the controller's value
// follows the quantity. What cannot be proven by the bus has no expectation, and a reason instead.
#ifndef DRYCRANK_SCENARIO_WALK_H_
#define DRYCRANK_SCENARIO_WALK_H_

#include <string>
#include <vector>

#include "profile/bench.h"
#include "profile/scenario_file.h"

namespace drycrank::scenario {

// A circuit that the walk cannot prove, and why.
struct NotProvable {
  std::string circuit;
  std::string why;
};

struct Walk {
  profile::Scenario scenario;
  std::vector<NotProvable> not_provable;
};

// REQUIRES: bench.controller.
Walk MakeWalk(const profile::Bench& bench);

}  // namespace drycrank::scenario

#endif  // DRYCRANK_SCENARIO_WALK_H_
