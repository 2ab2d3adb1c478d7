// SPDX-License-Identifier: Apache-2.0
//
// Where the crank really was, from the motion that was driven: what an output's angle is judged by. The
// last kKept motions are kept, so that what is told a moment later (a controller's outputs, once per
// sample) is still placed by the one it belongs to.
#ifndef DRYCRANK_CHECK_CRANK_H_
#define DRYCRANK_CHECK_CRANK_H_

#include <array>
#include <optional>

#include "engine/motion.h"
#include "types/angle.h"
#include "types/crank_motion.h"
#include "types/time.h"

namespace drycrank::check {

class Crank {
 public:
  static constexpr std::size_t kKept = 64;

  // REQUIRES: in order of their begin.
  void OnMotion(const CrankMotion& motion);
  // Nothing: no motion is known at that time.
  std::optional<CrankAngle> AngleAt(TimeNs t_ns) const;
  double SpeedRpmAt(TimeNs t_ns) const;  // 0 where none is known

 private:
  const engine::Motion* At(TimeNs t_ns) const;

  std::array<engine::Motion, kKept> motions_;  // ring
  std::size_t count_ = 0;                      // ever
};

}  // namespace drycrank::check

#endif  // DRYCRANK_CHECK_CRANK_H_
