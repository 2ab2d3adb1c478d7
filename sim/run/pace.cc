// SPDX-License-Identifier: Apache-2.0
#include "run/pace.h"

#include <algorithm>

namespace drycrank::run {

PaceResult Pace(Runner& runner, Clock& clock, const WhyStop& why_stop) {
  constexpr TimeNs kAskEveryNs = 20 * kNsPerMs;
  PaceResult result;
  TimeNs next_ask_ns = 0;
  runner.StartClock(clock);
  while (!runner.finished()) {
    const TimeNs due_ns = runner.NextDueNs();
    runner.Prepare();
    clock.WaitUntil(due_ns, runner.Descriptors());
    const TimeNs now_ns = clock.Now();
    if (now_ns >= due_ns) result.worst_late_ns = std::max(result.worst_late_ns, now_ns - due_ns);
    runner.Poll(now_ns);
    // Never past what is due: in virtual time the clock stands exactly there.
    runner.RunTo(std::min(now_ns, std::max(due_ns, runner.now_ns())));
    if (now_ns >= next_ask_ns) {
      next_ask_ns = now_ns + kAskEveryNs;
      if (const std::string why = why_stop ? why_stop(now_ns) : ""; !why.empty()) {
        result.stopped = true;
        runner.Finish(runner.now_ns(), why);
      }
    }
  }
  result.stopped = result.stopped || !runner.failure().empty();
  return result;
}

}  // namespace drycrank::run
