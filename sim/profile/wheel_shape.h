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

enum class Shaft { kCrank, kCam };

struct Wheel {
  std::string name;          // "60-2"; empty when written in place
  std::vector<Tooth> teeth;  // ascending, not overlapping
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_WHEEL_SHAPE_H_
