// SPDX-License-Identifier: Apache-2.0
//
// Whether the synthesis still gets on. In one millisecond of simulated time a bench has at most some
// 50,000 events: 256 pulse outputs at 100 kHz, each up and down. More than four times as many means
// that events keep coming without time going on, by a mistake of ours or by numbers that no engine
// has; then it is better to say so and stop than to turn in a circle.
#ifndef DRYCRANK_PLANT_STEP_GUARD_H_
#define DRYCRANK_PLANT_STEP_GUARD_H_

#include "types/time.h"

namespace drycrank::plant {

class StepGuard {
 public:
  static constexpr int kMostPerMs = 200'000;

  // One more event, at t_ns. False: too many of them since a millisecond began.
  bool Admit(TimeNs t_ns) {
    if (t_ns - begin_ns_ >= kNsPerMs) {
      begin_ns_ = t_ns;
      count_ = 0;
    }
    return ++count_ <= kMostPerMs;
  }

 private:
  TimeNs begin_ns_ = 0;
  int count_ = 0;
};

}  // namespace drycrank::plant

#endif  // DRYCRANK_PLANT_STEP_GUARD_H_
