// SPDX-License-Identifier: Apache-2.0
//
// What a scenario file says, checked: a list of steps that follow each other, faults with their
// time, and expectations. Values are in the unit of the stimulus or signal concerned.
#ifndef DRYCRANK_PROFILE_SCENARIO_FILE_H_
#define DRYCRANK_PROFILE_SCENARIO_FILE_H_

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "profile/bench.h"
#include "profile/condition.h"
#include "profile/expectation.h"
#include "profile/fault.h"
#include "profile/played_capture.h"
#include "profile/played_recording.h"

namespace drycrank::profile {

enum class DriveKind { kHold, kRamp, kSine, kPoints, kCrank };

// What a step does to one stimulus from its begin on. It lasts until another drive replaces it.
struct Drive {
  int stimulus = 0;
  DriveKind kind = DriveKind::kHold;
  double to = 0;      // hold: the value; ramp: the target; sine: the mean; crank: mean speed, rpm
  double over_s = 0;  // ramp: how long; default is the step's for_s
  double amplitude = 0;  // sine
  double period_s = 1;   // sine
  Points points;         // (s since the drive's begin, value), first at 0
  Place place;
};

struct Step {
  std::string name;
  double for_s = 0;                   // length; with wait_for: the limit
  std::optional<Condition> wait_for;  // ends the step early, when it comes true
  std::vector<Drive> drives;
  Place place;
};

struct Scenario {
  std::string file;
  std::string bench_file;  // resolved path
  std::string name;
  std::string title;
  std::uint64_t seed = 1;
  double start_deg = 0;  // where the crank stands at the begin, [0, 720)
  std::vector<Step> steps;
  std::vector<Fault> faults;
  std::vector<Replay> replays;
  std::optional<PlayedCapture> capture;  // in the place of crank and cams
  std::vector<Expectation> expectations;
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_SCENARIO_FILE_H_
