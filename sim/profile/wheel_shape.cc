// SPDX-License-Identifier: Apache-2.0
#include "profile/wheel_shape.h"

#include <cmath>

namespace drycrank::profile {

double ShaftTurnDeg(Shaft shaft, double cycle_deg) {
  switch (shaft) {
    case Shaft::kCrank:
      return 360;
    case Shaft::kCam:
      return cycle_deg;
    case Shaft::kRotor:
      return kRotorTurnDeg;
  }
  return 360;
}

bool LooksTheSameEachThird(const Wheel& wheel) {
  constexpr double kSameDeg = 1e-3;
  const std::size_t each = wheel.teeth.size() / 3;
  if (each == 0 || wheel.teeth.size() != 3 * each) return false;
  for (std::size_t i = 0; i < 2 * each; ++i) {
    const Tooth &here = wheel.teeth[i], &there = wheel.teeth[i + each];
    if (std::abs(there.begin_deg - here.begin_deg - 120) > kSameDeg ||
        std::abs(there.end_deg - here.end_deg - 120) > kSameDeg) {
      return false;
    }
  }
  return true;
}

}  // namespace drycrank::profile
