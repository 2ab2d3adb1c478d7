// SPDX-License-Identifier: Apache-2.0
#include "plant/segments.h"

#include <numbers>

namespace drycrank::plant {
namespace {

using profile::DriveKind;

constexpr double kSwingBackS = 0.15;  // ours; common practice, no source

// Never below zero, nor minus zero: the time for an angle is an angle divided by it.
double Forward(double rpm) { return rpm > 0 ? rpm : 0; }

Segment Hold(double rpm) { return {.kind = SegmentKind::kHold, .speed_rpm = Forward(rpm)}; }

Segment Ramp(double from_rpm, double to_rpm, double seconds) {
  if (seconds <= 0) return Hold(to_rpm);
  return {.kind = SegmentKind::kRamp,
          .speed_rpm = Forward(from_rpm),
          .to_rpm = Forward(to_rpm),
          .duration_s = seconds};
}

// A ramp down to a stop ends there, where the crank may swing back.
MotionPart RampPart(const scenario::Track& speed, TimeNs t_ns, const profile::Engine& engine) {
  const TimeNs end_ns = speed.begin_ns + FromSeconds(speed.over_s);
  const bool kicks = engine.kick_back_deg > 0 && speed.to <= 0;
  if (kicks && t_ns >= end_ns) return {Hold(0), kNever};
  return {Ramp(speed.Value(t_ns), speed.to, speed.over_s - ToSeconds(t_ns - speed.begin_ns)),
          kicks ? end_ns : kNever};
}

MotionPart PointsPart(const scenario::Track& track, TimeNs t_ns) {
  for (const auto& [x_s, value] : *track.points) {
    const TimeNs corner_ns = track.begin_ns + FromSeconds(x_s);
    if (corner_ns > t_ns) {
      return {Ramp(track.Value(t_ns), value, ToSeconds(corner_ns - t_ns)), corner_ns};
    }
  }
  return {Hold(track.Value(t_ns)), kNever};
}

}  // namespace

MotionPart PartOf(const scenario::Track& speed, TimeNs t_ns, const profile::Engine& engine) {
  const auto cylinders = static_cast<double>(engine.firing_order.size());
  switch (speed.kind) {
    case DriveKind::kHold:
      return {Hold(speed.to), kNever};
    case DriveKind::kRamp:
      return RampPart(speed, t_ns, engine);
    case DriveKind::kSine:
      return {{.kind = SegmentKind::kSine,
               .speed_rpm = speed.to,
               .amplitude_rpm = speed.amplitude,
               .period_s = speed.period_s},
              kNever};
    case DriveKind::kCrank:
      if (speed.to <= 0) return {Hold(0), kNever};
      return {{.kind = SegmentKind::kCrank,
               .speed_rpm = speed.to,
               .ripple = engine.compression_ripple,
               .per_turn = engine.strokes == 2 ? cylinders : cylinders / 2},
              kNever};
    case DriveKind::kPoints:
      return PointsPart(speed, t_ns);
  }
  return {Hold(0), kNever};
}

bool Turns(const Segment& segment) {
  return segment.kind != SegmentKind::kBack && (segment.speed_rpm > 0 || segment.to_rpm > 0);
}

Segment SwingBack(double deg) {
  // D = 2 A T / pi of engine/motion.h, A in degrees a second.
  const double deg_per_s = deg * std::numbers::pi / (2 * kSwingBackS);
  return {.kind = SegmentKind::kBack, .duration_s = kSwingBackS, .amplitude_rpm = deg_per_s / 6};
}

bool IsCurved(const scenario::Track& track) {
  return track.kind == DriveKind::kSine || track.kind == DriveKind::kPoints;
}

trigger::Advance AdvanceOf(const scenario::Track& track, TimeNs t_ns, TimeNs step_ns) {
  const double now = track.Value(t_ns);
  const TimeNs ramp_end_ns = track.begin_ns + FromSeconds(track.over_s);
  TimeNs end_ns = t_ns;
  if (IsCurved(track)) {
    end_ns = t_ns + step_ns;
  } else if (track.kind == DriveKind::kRamp && ramp_end_ns > t_ns) {
    end_ns = ramp_end_ns;
  }
  if (end_ns == t_ns) return {.begin_ns = t_ns, .begin_deg = now};
  const double slope = (track.Value(end_ns) - now) / ToSeconds(end_ns - t_ns);
  return {.begin_ns = t_ns, .begin_deg = now, .slope_deg_per_s = slope, .end_ns = end_ns};
}

}  // namespace drycrank::plant
