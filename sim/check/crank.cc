// SPDX-License-Identifier: Apache-2.0
#include "check/crank.h"

#include <algorithm>

namespace drycrank::check {

void Crank::OnMotion(const CrankMotion& motion) {
  engine::Motion& kept = motions_[count_++ % kKept];
  kept = engine::Motion(motion.begin);
  kept.Begin(motion.begin_ns, motion.segment);
}

const engine::Motion* Crank::At(TimeNs t_ns) const {
  const std::size_t kept = std::min(count_, kKept);
  for (std::size_t back = 1; back <= kept; ++back) {
    const engine::Motion& motion = motions_[(count_ - back) % kKept];
    if (motion.begin_ns() <= t_ns) return &motion;
  }
  return nullptr;
}

std::optional<CrankAngle> Crank::AngleAt(TimeNs t_ns) const {
  const engine::Motion* motion = At(t_ns);
  if (motion == nullptr) return std::nullopt;
  return motion->AngleAt(t_ns);
}

double Crank::SpeedRpmAt(TimeNs t_ns) const {
  const engine::Motion* motion = At(t_ns);
  return motion == nullptr ? 0 : motion->SpeedRpmAt(t_ns);
}

}  // namespace drycrank::check
