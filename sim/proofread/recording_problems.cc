// SPDX-License-Identifier: Apache-2.0
#include "proofread/recording_problems.h"

#include "capture/signal_plan.h"
#include "run/replay.h"

namespace drycrank::proofread {

Diagnostics RecordingProblems(const profile::Bench& bench, const profile::Scenario& scenario) {
  const run::Replays replays(bench, scenario, [](int, TimeNs) { return 0.0; });
  Diagnostics problems;
  for (const auto& replay : replays.list()) {
    problems.insert(problems.end(), replay->problems().begin(), replay->problems().end());
  }
  if (scenario.capture && bench.controller) {
    const Diagnostics of_capture = capture::ProblemsOf(bench, *scenario.capture);
    problems.insert(problems.end(), of_capture.begin(), of_capture.end());
  }
  return problems;
}

}  // namespace drycrank::proofread
