// SPDX-License-Identifier: Apache-2.0
//
// From begin_ns on the crank moves so, from the angle it has then: what a run drove, as plain values.
// engine/motion.h makes angles and times of it.
#ifndef DRYCRANK_TYPES_CRANK_MOTION_H_
#define DRYCRANK_TYPES_CRANK_MOTION_H_

#include "types/angle.h"
#include "types/segment.h"
#include "types/time.h"

namespace drycrank {

struct CrankMotion {
  TimeNs begin_ns = 0;
  CrankAngle begin;
  Segment segment;
};

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_CRANK_MOTION_H_
