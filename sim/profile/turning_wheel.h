// SPDX-License-Identifier: Apache-2.0
//
// A bench's trigger as plain numbers of a turning wheel, without faults.
#ifndef DRYCRANK_PROFILE_TURNING_WHEEL_H_
#define DRYCRANK_PROFILE_TURNING_WHEEL_H_

#include "profile/bench.h"
#include "profile/triggers.h"
#include "types/wheel.h"

namespace drycrank::profile {

TurningWheel TurningWheelOf(const Trigger& trigger, const Engine& engine);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_TURNING_WHEEL_H_
