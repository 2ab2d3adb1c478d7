// SPDX-License-Identifier: Apache-2.0
//
// How crank and cams move from now on.
#include <algorithm>

#include "plant/plant.h"
#include "plant/segments.h"
#include "profile/triggers.h"
#include "types/nth.h"

namespace drycrank::plant {
namespace {

constexpr TimeNs kAdvanceStepNs = 10 * kNsPerMs;

}  // namespace

void Plant::BeginMotion(TimeNs t_ns) {
  MotionPart part = PartOf(timeline_.track(0), t_ns, bench_.engine);
  const bool turns = Turns(part.segment);
  const bool kicks = has_turned_ && !turns && bench_.engine.kick_back_deg > 0;
  if (kicks) part.segment = SwingBack(bench_.engine.kick_back_deg);
  has_turned_ = turns;
  motion_.Begin(t_ns, part.segment);
  motion_break_ns_ = part.until_ns;
  sink_.OnMotion({t_ns, motion_.begin_angle(), part.segment});
}

// A phaser that is stuck, or moves from where it is no faster than it can, in straight stretches.
trigger::Advance Plant::AdvanceAt(std::size_t trigger, TimeNs t_ns) const {
  const scenario::Track& track = timeline_.track(bench_.triggers[trigger].advance_stimulus);
  const PickupFault& fault = pickup_faults_[trigger];
  if (fault.stuck_deg) return {.begin_ns = t_ns, .begin_deg = *fault.stuck_deg};
  if (!fault.deg_per_s) return AdvanceOf(track, t_ns, kAdvanceStepNs);
  const double from_deg = advance_before_deg_[trigger];
  const TimeNs end_ns = t_ns + kAdvanceStepNs;
  const double wanted = (track.Value(end_ns) - from_deg) / ToSeconds(kAdvanceStepNs);
  return {.begin_ns = t_ns,
          .begin_deg = from_deg,
          .slope_deg_per_s = std::clamp(wanted, -*fault.deg_per_s, *fault.deg_per_s),
          .end_ns = end_ns};
}

void Plant::UpdateAdvances(TimeNs t_ns) {
  for (std::size_t i = 0; i < bench_.triggers.size(); ++i) {
    if (bench_.triggers[i].advance_stimulus < 0) continue;
    // What was given at this very instant is not where the cam was.
    if (advances_[i].begin_ns < t_ns) advance_before_deg_[i] = advances_[i].DegAt(t_ns);
    advances_[i] = AdvanceAt(i, t_ns);
    triggers_.SetAdvance(static_cast<int>(i), advances_[i]);
    sink_.OnAdvance(static_cast<int>(i), advances_[i].begin_deg, t_ns);
  }
}

// What moves evenly is planned once; whoever follows it by values wants them on its way too.
void Plant::TellMovingAdvances(TimeNs t_ns) {
  for (std::size_t i = 0; i < advances_.size(); ++i) {
    if (advances_[i].slope_deg_per_s == 0) continue;
    sink_.OnAdvance(static_cast<int>(i), advances_[i].DegAt(t_ns), t_ns);
  }
}

// Followed in stretches, each from one sample to the next.
bool Plant::AdvanceIsStepped(std::size_t trigger) const {
  const int stimulus = bench_.triggers[trigger].advance_stimulus;
  return stimulus >= 0 &&
         (IsCurved(timeline_.track(stimulus)) || pickup_faults_[trigger].deg_per_s);
}

}  // namespace drycrank::plant
