// SPDX-License-Identifier: Apache-2.0
//
// A trigger wheel as a file says it: what is built (triggers.h) and what the controller was told
// (controller_setup.h) have the same words for it.
#ifndef DRYCRANK_PROFILE_WHEEL_SHAPE_H_
#define DRYCRANK_PROFILE_WHEEL_SHAPE_H_

#include <string>
#include <vector>

#include "types/wheel.h"

namespace drycrank::profile {

// A rotor turns once in three turns of the eccentric shaft, which is the crank of a rotary engine.
enum class Shaft { kCrank, kCam, kRotor };
inline constexpr double kRotorTurnDeg = 3 * 360.0;  // of the crank

struct Wheel {
  std::string name;          // "60-2"; empty when written in place
  std::vector<Tooth> teeth;  // ascending, not overlapping
};

// Crank degrees for one turn of that shaft, in an engine with that cycle.
double ShaftTurnDeg(Shaft shaft, double cycle_deg);

// Three times the same teeth, 120 degrees apart.
bool LooksTheSameEachThird(const Wheel& wheel);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_WHEEL_SHAPE_H_
