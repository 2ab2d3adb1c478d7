// SPDX-License-Identifier: Apache-2.0
//
// The walk through a bench: a scenario that drives every circuit in turn from its own physics. Each
// sensor's quantity is held low, then high, while all others rest at values of their own, so that a
// neighbour cannot be taken for it; then the engine cranks and runs, and every cam is moved.
//
//   at_rest | coolant low | coolant high | oil low | … | cranking | running | cam advanced
//
// Its expectations prove the circuits between a device and the controller: the controller's value
// follows the quantity, or the signal that watches an output lies where it should; and the display
// shows it. What cannot be proven by the bus has no expectation, and a question to a witness or a
// reason instead.
#ifndef DRYCRANK_WALK_WALK_H_
#define DRYCRANK_WALK_WALK_H_

#include <string>
#include <vector>

#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "walk/outputs.h"
#include "walk/reach.h"

namespace drycrank::walk {

// A circuit that the walk does not prove, and why.
struct NotProvable {
  std::string circuit;
  std::string why;
};

struct Walk {
  profile::Scenario scenario;
  std::vector<NotProvable> not_provable;
  std::vector<NotProvable> not_fitted;  // on paper only, says the bench
  std::vector<WalkQuestion> questions;
  Reach reach;
};

// What does not reach the controller is not driven and not expected. REQUIRES: bench.controller.
Walk MakeWalk(const profile::Bench& bench, const Reach& reach = {});

}  // namespace drycrank::walk

#endif  // DRYCRANK_WALK_WALK_H_
