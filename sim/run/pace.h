// SPDX-License-Identifier: Apache-2.0
//
// The one place where simulated time meets a clock. Virtual time and real time differ only in the
// Clock that is passed in.
#ifndef DRYCRANK_RUN_PACE_H_
#define DRYCRANK_RUN_PACE_H_

#include <functional>
#include <string>

#include "run/runner.h"
#include "types/clock.h"

namespace drycrank::run {

struct PaceResult {
  bool stopped = false;      // why_stop had a reason before the end, or the run could not go on
  TimeNs worst_late_ns = 0;  // how long after its due instant anything was released
};

// Starts the clock, plays a started runner to its end, and wakes up on what its interfaces receive.
// `why_stop` is asked about every 20 ms of run time; a reason ("stopped by INT") ends the run there,
// cleanly; empty: it goes on.
using WhyStop = std::function<std::string(TimeNs)>;
PaceResult Pace(Runner& runner, Clock& clock, const WhyStop& why_stop);

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_PACE_H_
