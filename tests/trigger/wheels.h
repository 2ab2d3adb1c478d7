// SPDX-License-Identifier: Apache-2.0
//
// Wheels, triggers and segments for the tests of this folder.
#ifndef DRYCRANK_TESTS_TRIGGER_WHEELS_H_
#define DRYCRANK_TESTS_TRIGGER_WHEELS_H_

#include <algorithm>
#include <vector>

#include "engine/motion.h"
#include "profile/bench.h"
#include "profile/triggers.h"
#include "profile/turning_wheel.h"
#include "trigger/trigger_stream.h"

namespace drycrank::trigger::testing {

// `slots` teeth, half of the pitch wide, without those listed (from 1).
inline profile::Wheel Toothed(int slots, const std::vector<int>& gaps = {}) {
  profile::Wheel wheel;
  for (int slot = 1; slot <= slots; ++slot) {
    if (std::find(gaps.begin(), gaps.end(), slot) != gaps.end()) continue;
    const double begin_deg = (slot - 1) * 360.0 / slots;
    wheel.teeth.push_back({begin_deg, begin_deg + 180.0 / slots});
  }
  return wheel;
}
inline profile::Wheel SixtyMinusTwo() { return Toothed(60, {59, 60}); }
inline profile::Wheel HalfMoon() { return {.name = "half-moon", .teeth = {{0, 180}}}; }

inline profile::Trigger Hall(profile::Shaft shaft, const profile::Wheel& wheel,
                             double offset_deg = 0) {
  profile::Trigger trigger;
  trigger.shaft = shaft;
  trigger.wheel = wheel;
  trigger.offset_deg = offset_deg;
  return trigger;
}

// 13 V peak at 6000 r/min: 26 V peak to peak, the measured point in tests/reference/crank_cam.yaml.
inline profile::Trigger Coil(profile::Shaft shaft, const profile::Wheel& wheel) {
  profile::Trigger trigger = Hall(shaft, wheel);
  profile::VariableReluctancePickup coil;
  coil.peak_v = 13;
  coil.peak_at_rpm = 6000;
  trigger.pickup = coil;
  return trigger;
}

inline Segment Hold(double rpm) { return {.kind = SegmentKind::kHold, .speed_rpm = rpm}; }
inline Segment Ramp(double from_rpm, double to_rpm, double duration_s) {
  return {.kind = SegmentKind::kRamp,
          .speed_rpm = from_rpm,
          .to_rpm = to_rpm,
          .duration_s = duration_s};
}

inline TurningWheel Turning(const profile::Trigger& trigger, int strokes = 4) {
  profile::Engine engine;
  engine.strokes = strokes;
  return profile::TurningWheelOf(trigger, engine);
}
inline std::vector<TurningWheel> Turning(const std::vector<profile::Trigger>& triggers,
                                         int strokes = 4) {
  std::vector<TurningWheel> wheels;
  for (const profile::Trigger& trigger : triggers) wheels.push_back(Turning(trigger, strokes));
  return wheels;
}

// A stream with its motion, turned on together.
class Rig {
 public:
  Rig(const std::vector<profile::Trigger>& triggers, int strokes = 4, CrankAngle start = {})
      : motion(start), stream(Turning(triggers, strokes)) {
    stream.Restart(0, motion);
  }
  void Begin(TimeNs t_ns, const Segment& segment) {
    motion.Begin(t_ns, segment);
    stream.Restart(t_ns, motion);
  }
  // Everything due by `t_ns`, that instant included.
  std::vector<TriggerEvent> TakeUntil(TimeNs t_ns) {
    std::vector<TriggerEvent> events;
    while (stream.Peek().t_ns <= t_ns) events.push_back(stream.Take(motion));
    return events;
  }

  engine::Motion motion;
  TriggerStream stream;
};

}  // namespace drycrank::trigger::testing

#endif  // DRYCRANK_TESTS_TRIGGER_WHEELS_H_
