// SPDX-License-Identifier: Apache-2.0
//
// Crank angle as a closed form of time, and its inverse.
//
// A motion is a chain of segments. Within one, with x = seconds since its begin and a = degrees
// turned since its begin (w in deg/s):
//   hold     a = w x
//   ramp     a = w0 x + (w1 - w0) x^2 / (2 d)          for d seconds, then hold at w1
//   sine     a = w x + A/W (1 - cos(W x))              speed w + A sin(W x), |A| <= w
//   crank    x = (a + r/N (sin(N(a + p)) - sin(N p))) / w
//            slowness 1/w (1 + r cos(N (a + p))) is a sine of *angle*: slowest at each compression,
//            N compressions per turn, mean speed w over each firing interval. Time is closed in
//            angle; angle of time is Kepler's equation.
//   back     a = -D/2 (1 - cos(pi x / T))     for T seconds, then at rest; A the greatest speed,
//            D = 2 A T / pi: the compressed gas pushes a crank back that has come to a stop
//   stopped  a = 0
// The angle at a segment's begin is kept as turns and degrees (types/angle.h) and the part that
// grows with time is split into turns before it is rounded, so nothing adds up over a run: an edge
// is computed, never stepped to. Rejected: angle and speed carried from sample to sample, which
// drifts and ties every edge to a sample period.
#ifndef DRYCRANK_ENGINE_MOTION_H_
#define DRYCRANK_ENGINE_MOTION_H_

#include "types/angle.h"
#include "types/segment.h"
#include "types/time.h"

namespace drycrank::engine {

// A value: copy it, keep it, ask it. No allocation after construction.
class Motion {
 public:
  Motion() = default;  // stands still at angle zero
  explicit Motion(CrankAngle start) : begin_angle_(start) {}

  // From `t_ns` on the crank follows `segment`, from the angle it has then.
  // REQUIRES: t_ns not before the last Begin; 0 <= speeds <= 20000; a ramp and a swing back last.
  void Begin(TimeNs t_ns, const Segment& segment);

  // REQUIRES for all: t_ns not before the last Begin.
  CrankAngle AngleAt(TimeNs t_ns) const;
  double SpeedRpmAt(TimeNs t_ns) const;  // instantaneous, ripple included; negative: backwards

  // First instant (nearest ns) at which the crank reaches `angle`, if the segment goes on for ever;
  // the segment's begin when it is already past; kNever when it is never reached. Backwards, an angle
  // ahead is never reached.
  TimeNs TimeAt(CrankAngle angle) const;
  bool backwards() const { return segment_.kind == SegmentKind::kBack; }

  const Segment& segment() const { return segment_; }
  TimeNs begin_ns() const { return begin_ns_; }
  const CrankAngle& begin_angle() const { return begin_angle_; }

 private:
  double CompressionPhase(const CrankAngle& steady) const;
  CrankAngle RampAngleAt(double x_ns) const;
  CrankAngle CrankingAngleAt(double x_ns) const;
  double SecondsFor(double degrees) const;
  double RampSecondsFor(double degrees) const;
  double BackDegAt(double x_s) const;
  TimeNs BackTimeAt(double degrees) const;
  double SineSecondsFor(double degrees) const;
  double CrankingSecondsFor(double degrees) const;

  TimeNs begin_ns_ = 0;
  CrankAngle begin_angle_;
  double begin_sine_ = 0;  // crank: sin(N p)
  Segment segment_;
};

}  // namespace drycrank::engine

#endif  // DRYCRANK_ENGINE_MOTION_H_
