// SPDX-License-Identifier: Apache-2.0
//
// The scenario of a bench that was run live: what was told to it. Each value or ramp given by hand begins
// a step of its own, named after it:
//
//   0,step,0,live                               step 0 "live"
//   5000000000,drive,engine_speed,900,0         step 1 "1: engine_speed 900 rpm"
//   9000000000,drive,engine_speed,3000,2        step 2 "2: engine_speed 3000 rpm in 2 s"
//
// What is expected comes from a scenario file. What it limits to certain steps is left out: there are
// none of these names. Faults given by hand are in the record by name alone; the judge does not know them.
#ifndef DRYCRANK_STUDY_LIVE_SCENARIO_H_
#define DRYCRANK_STUDY_LIVE_SCENARIO_H_

#include <optional>
#include <string>
#include <vector>

#include "profile/bench.h"
#include "profile/scenario_file.h"

namespace drycrank::study {

inline constexpr const char* kLiveName = "live";

struct LiveScenario {
  profile::Scenario scenario;
  std::vector<std::string> notes;  // what of the expectations is left out
  std::string problem;             // a line that is none; empty: all was read
};

// Nothing: the record in `folder` is not one of a bench run live.
std::optional<LiveScenario> ReadLiveScenario(const std::string& folder, const profile::Bench& bench,
                                             const profile::Scenario& expected);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_LIVE_SCENARIO_H_
