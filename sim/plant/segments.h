// SPDX-License-Identifier: Apache-2.0
//
// A stimulus' track as the crank's or a cam's motion: what the timeline says in quantities, the engine
// and the wheels take in segments.
#ifndef DRYCRANK_PLANT_SEGMENTS_H_
#define DRYCRANK_PLANT_SEGMENTS_H_

#include "engine/motion.h"
#include "profile/bench.h"
#include "scenario/timeline.h"
#include "trigger/trigger_stream.h"
#include "types/time.h"

namespace drycrank::plant {

struct MotionPart {
  Segment segment;
  TimeNs until_ns = kNever;  // a broken line's next corner: ask again then
};
// The crank's segment from t_ns on. Cylinders give the compressions per turn.
MotionPart PartOf(const scenario::Track& speed, TimeNs t_ns, const profile::Engine& engine);

// Does the crank turn in it?
bool Turns(const Segment& segment);
// What follows when a crank that turned has come to a stop, and swings back by so much. REQUIRES: > 0
Segment SwingBack(double deg);

// Sine and broken lines are followed in straight stretches of step_ns.
bool IsCurved(const scenario::Track& track);
trigger::Advance AdvanceOf(const scenario::Track& track, TimeNs t_ns, TimeNs step_ns);

}  // namespace drycrank::plant

#endif  // DRYCRANK_PLANT_SEGMENTS_H_
