// SPDX-License-Identifier: Apache-2.0
//
// What a walk asks of a turning engine beside values on the bus: that each cam's edges are at their
// places, and that each cylinder is fired, or injected, at its degree. A wheel half a turn off, a
// sensor inverted, crank and cam late together or a lost tooth of a cam moves no reported value.
#ifndef DRYCRANK_WALK_DEGREES_H_
#define DRYCRANK_WALK_DEGREES_H_

#include <vector>

#include "profile/bench.h"
#include "profile/expectation.h"

namespace drycrank::walk {

// `during` and `settle_s` are left to the walk. REQUIRES: bench.controller, played by the stand-in.
std::vector<profile::Expectation> DegreeExpectations(const profile::Bench& bench);

}  // namespace drycrank::walk

#endif  // DRYCRANK_WALK_DEGREES_H_
