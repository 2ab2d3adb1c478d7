// SPDX-License-Identifier: Apache-2.0
#include "plant/disturbances.h"

#include <algorithm>
#include <cmath>

namespace drycrank::plant {

TimeNs Disturbances::Pause() {
  return FromSeconds(-std::log(1 - random_.Uniform()) / law_.rate_hz);
}

bool Disturbances::Set(TimeNs t_ns, const NoiseLaw& law) {
  if (law == law_) return false;
  const bool ended = on_;
  law_ = law;
  on_ = false;
  next_ns_ = law_.rate_hz > 0 ? t_ns + Pause() : kNever;
  return ended;
}

void Disturbances::Take() {
  on_ = !on_;
  if (!on_) {
    next_ns_ += std::max<TimeNs>(1, Pause() - law_.width_ns);
    return;
  }
  plus_ = random_.Uniform() < 0.5;
  next_ns_ += law_.width_ns;
}

}  // namespace drycrank::plant
