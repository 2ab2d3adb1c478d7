// SPDX-License-Identifier: Apache-2.0
//
// The moments of a run at which what would have been reported can be predicted: the end of each step
// that ended at rest. Of a step in which something moves, its middle and its end; a report then lags
// by what the stimulus moved over the time that messages, filters and time-outs take (`moved`), and
// every tolerance is wider by that.
#ifndef DRYCRANK_STUDY_MOMENTS_H_
#define DRYCRANK_STUDY_MOMENTS_H_

#include <cstddef>
#include <string>
#include <vector>

#include "diagnose/reading.h"
#include "profile/scenario_file.h"
#include "report/report.h"
#include "types/time.h"

namespace drycrank::study {

inline constexpr double kLagS = 0.4;

struct Moment {
  std::size_t step = 0;  // of the scenario
  TimeNs begin_ns = 0, end_ns = 0;
  diagnose::Situation situation;
  std::vector<double> moved = {};  // per stimulus, over the last kLagS; 0 at rest
  bool faulty = false;             // a fault of the scenario was in force at some time of the step

  bool turning() const { return situation.engine_rpm() > 0; }
};

// `steps`: as they were played; those that were not reached are missing.
std::vector<Moment> MomentsOf(const profile::Bench& bench, const profile::Scenario& scenario,
                              const std::vector<report::StepTime>& steps);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_MOMENTS_H_
