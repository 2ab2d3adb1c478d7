// SPDX-License-Identifier: Apache-2.0
//
// A stretch of the crank's motion: plain numbers; engine/motion.h has the equations.
#ifndef DRYCRANK_TYPES_SEGMENT_H_
#define DRYCRANK_TYPES_SEGMENT_H_

namespace drycrank {

enum class SegmentKind { kHold, kRamp, kSine, kCrank, kBack };

struct Segment {
  SegmentKind kind = SegmentKind::kHold;
  double speed_rpm = 0;      // hold, crank (mean), sine (mean); ramp: speed at its begin
  double to_rpm = 0;         // ramp: speed reached
  double duration_s = 0;     // ramp, back
  double amplitude_rpm = 0;  // sine; back: greatest speed, backwards
  double period_s = 1;       // sine
  double ripple = 0;         // crank: r, [0, 0.9]
  // crank: N, compressions per turn: cylinders / 2 for a four-stroke, cylinders for a two-stroke.
  // The first is at crank angle zero, so 2 N is whole.
  double per_turn = 2;
};

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_SEGMENT_H_
