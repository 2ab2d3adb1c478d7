// SPDX-License-Identifier: Apache-2.0
#include "proofread/recording_problems.h"

#include "run/replay.h"

namespace drycrank::proofread {

Diagnostics RecordingProblems(const profile::Bench& bench, const profile::Scenario& scenario) {
  const run::Replays replays(bench, scenario, [](int, TimeNs) { return 0.0; });
  Diagnostics problems;
  for (const auto& replay : replays.list()) {
    problems.insert(problems.end(), replay->problems().begin(), replay->problems().end());
  }
  return problems;
}

}  // namespace drycrank::proofread
