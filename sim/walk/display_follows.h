// SPDX-License-Identifier: Apache-2.0
//
// The walk's look at the display: a gauge whose number comes back on the bus shows the stimulus
// that the controller's value follows. It proves no circuit; it finds a display that decodes the
// wrong byte.
#ifndef DRYCRANK_WALK_DISPLAY_FOLLOWS_H_
#define DRYCRANK_WALK_DISPLAY_FOLLOWS_H_

#include <vector>

#include "profile/bench.h"
#include "profile/scenario_file.h"

namespace drycrank::walk {

// One per gauge that some message of the display carries, and whose signal one of `follows` is
// about: the same stimulus, steps and tolerance, in the gauge's unit and with its last digit.
std::vector<profile::Expectation> DisplayFollows(const profile::Bench& bench,
                                                 const std::vector<profile::Expectation>& follows);

}  // namespace drycrank::walk

#endif  // DRYCRANK_WALK_DISPLAY_FOLLOWS_H_
