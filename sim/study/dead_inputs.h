// SPDX-License-Identifier: Apache-2.0
//
// What a controller says while its trigger inputs are dead: an input is dead when nothing that
// switches or swings on the bench crosses its thresholds any more. Of the crank's, no tooth is seen:
// stopped, 0 rpm. Of the cam's that gives the phase: the position is known to a turn only, and the
// cam's angle is not measured. No playing is needed for that; what is neither alive as before nor
// dead is played (diagnose/watch.h).
#ifndef DRYCRANK_STUDY_DEAD_INPUTS_H_
#define DRYCRANK_STUDY_DEAD_INPUTS_H_

#include <vector>

#include "diagnose/electrical.h"
#include "diagnose/reading.h"
#include "diagnose/reports.h"
#include "profile/bench.h"

namespace drycrank::study {

// Per trigger channel of the controller, whether its input is dead. A coil's swing is reckoned at
// twice what its speed gives, so that a weak signal is not taken for none.
std::vector<bool> DeadTriggers(const profile::Bench& bench, const diagnose::Electrical& electrical,
                               double engine_rpm);

// What the controller's readings become by it. Nothing when none is dead.
std::vector<diagnose::Change> ByDeadTriggers(const profile::Bench& bench,
                                             const std::vector<diagnose::Reading>& readings,
                                             const std::vector<bool>& dead);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_DEAD_INPUTS_H_
