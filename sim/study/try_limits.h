// SPDX-License-Identifier: Apache-2.0
//
// The protections of a bench, tried one by one with a stand-in for the controller in virtual time
// (limit_trial.h), and judged by what its outputs and its messages did (limit_signs.h).
//
//   trips at      what was driven when it began to act, minus how long it takes: as at once, but that a
//                 filter lags behind a slow value by its time constant. A delay is no error of the limit
//   within        from the value's jump until it acts. Allowed: its delay and delay_tolerance_ms, and what
//                 the controller needs: two samples, its filter, and how late the sign comes
//   released at   what was driven when it let go, minus the filter's lag; there is no delay
//
// A filter of time constant T sees a jump from S to B pass L after T ln((B - S) / (B - L)); what the limit
// may be off is allowed there too.
#ifndef DRYCRANK_STUDY_TRY_LIMITS_H_
#define DRYCRANK_STUDY_TRY_LIMITS_H_

#include <cstdint>
#include <functional>
#include <vector>

#include "profile/bench.h"
#include "profile/fault.h"
#include "report/limits_tried.h"

namespace drycrank::study {

struct LimitOptions {
  std::uint64_t seed = 1;
  std::vector<profile::Fault> faults;  // put in on purpose
  std::vector<int> only = {};          // these alone; empty: all
  bool with_broken_wires = true;
  std::function<bool()> stop = [] { return false; };
};

// One result for each protection that was asked for and tried before it was stopped.
// REQUIRES: bench.controller. The bench must outlive what comes back.
report::Limits TryLimits(const profile::Bench& bench, const LimitOptions& options);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_TRY_LIMITS_H_
