// SPDX-License-Identifier: Apache-2.0
//
// How one protection is tried: scenarios that cross its limit up and down, slowly and at once, with the
// engine running, and what is driven when, so that what is seen can be placed.
//
//   value    B        .----.     .---.
//            L       /      \    |   |        S: well on the good side of the release
//            R      /        \   |   |        B: well beyond the limit
//            S ____/          \__|   |___
//                  slowly        at once      then beyond, at a speed at which it must not look
//
// All other values rest where no protection acts. Well is kMargin tolerances; a slow crossing takes a
// second for each tolerance, or two time constants of the channel's filter if these are longer, so that
// what the controller needs to see a value is a part of one. A jump is held for as long as it may take.
#ifndef DRYCRANK_STUDY_LIMIT_TRIAL_H_
#define DRYCRANK_STUDY_LIMIT_TRIAL_H_

#include <optional>
#include <string>
#include <vector>

#include "profile/bench.h"
#include "profile/protection.h"
#include "profile/scenario_file.h"
#include "types/points.h"
#include "types/time.h"

namespace drycrank::study {

struct Phase {
  TimeNs begin_ns = 0, end_ns = 0;
};

struct LimitTrial {
  profile::Scenario scenario;
  Points value, speed_rpm;  // (s, what is driven), straight between; a jump has two at one time
  Phase good;               // nothing is beyond yet
  Phase slow_out, slow_back;
  double slow_rate = 0;  // of the value, per second
  std::optional<Phase> below_limit_to, up_to_limit;  // of limit_speed, while it acts
  Phase out, back;                                   // at once
  std::optional<Phase> too_slow;                     // beyond, below needs_above_rpm
};

// The engine run with the value as far on the good side as it can be where no other protection acts.
struct FarTrial {
  profile::Scenario scenario;
  Points speed_rpm;
  double value = 0;
};

// The same with the wire broken: in the good, and then beyond.
struct BlindTrial {
  profile::Scenario scenario;
  Points speed_rpm;
  Phase good, beyond;  // both with the wire broken
  TimeNs broken_ns = 0;
};

// Would what `other` does look like what `protection` does?
bool LooksLike(const profile::Protection& other, const profile::Protection& protection);

// What can be driven of a protection.
struct LimitRoom {
  double good = 0, beyond = 0;  // S and B, in the channel's unit
  double engine_rpm = 0;
  std::vector<double> rest;  // per stimulus, in its unit
  std::string why_not;       // it cannot be tried
};
LimitRoom RoomOf(const profile::Bench& bench, const profile::Protection& protection);

// REQUIRES: RoomOf has room. `faults` are there in the whole run.
LimitTrial MakeTrial(const profile::Bench& bench, const profile::Protection& protection,
                     const LimitRoom& room, const std::vector<profile::Fault>& faults);
FarTrial MakeFarTrial(const profile::Bench& bench, const profile::Protection& protection,
                      const LimitRoom& room, const std::vector<profile::Fault>& faults);
// `kind`: what the sensor's wire does at the controller's pin.
BlindTrial MakeBlindTrial(const profile::Bench& bench, const profile::Protection& protection,
                          const LimitRoom& room, const std::vector<profile::Fault>& faults,
                          const profile::FaultKind& kind);

// The controller's pin that the value comes in at.
std::string PinOf(const profile::Bench& bench, const profile::Protection& protection);
// Between two rows; of a jump the later.
double ValueAt(const Points& points, TimeNs t_ns);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_LIMIT_TRIAL_H_
