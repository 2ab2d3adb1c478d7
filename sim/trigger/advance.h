// SPDX-License-Identifier: Apache-2.0
//
// A cam's advance over time, and the instant at which an advanced edge is met: t with
//   theta(t) + advance(t) = edge
// While the advance stands still this is the motion's own inverse; while it moves, a safeguarded
// Newton's method on whole nanoseconds.
#ifndef DRYCRANK_TRIGGER_ADVANCE_H_
#define DRYCRANK_TRIGGER_ADVANCE_H_

#include "engine/motion.h"
#include "types/angle.h"
#include "types/time.h"

namespace drycrank::trigger {

// A broken line in time: advance(t) = begin_deg + slope * (t - begin), clamped to the value at
// begin before and to the value at end after. One per channel; all zero for a fixed wheel.
struct Advance {
  TimeNs begin_ns = 0;
  double begin_deg = 0;        // degrees of crank; positive = earlier
  double slope_deg_per_s = 0;  // 0: constant
  TimeNs end_ns = kNever;      // constant from here on

  double DegAt(TimeNs t_ns) const;
};

// First instant, to the nearest ns and not before `from_ns`, at which `edge` is met; `from_ns` when
// it is already past; kNever when it is never met. A cam that retards faster than the crank turns
// moves backwards; an edge is then met when it is passed for good. REQUIRES: from_ns not before the
// motion's last Begin.
TimeNs TimeOfEdge(const engine::Motion& motion, const Advance& advance, CrankAngle edge,
                  TimeNs from_ns);

}  // namespace drycrank::trigger

#endif  // DRYCRANK_TRIGGER_ADVANCE_H_
