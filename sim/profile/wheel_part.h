// SPDX-License-Identifier: Apache-2.0
//
// A wheel in a file of its own, as profiles/parts/wheels/ has them.
#ifndef DRYCRANK_PROFILE_WHEEL_PART_H_
#define DRYCRANK_PROFILE_WHEEL_PART_H_

#include <string>

#include "profile/wheel_shape.h"
#include "types/diagnostic.h"

namespace drycrank::profile {

struct [[nodiscard]] LoadedWheel {
  Wheel wheel;
  Diagnostics problems;
};
// Without a name of its own it is called as its file.
LoadedWheel LoadWheelPart(const std::string& path);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_WHEEL_PART_H_
