// SPDX-License-Identifier: Apache-2.0
//
// A condition: what a step waits for, what expectations require, and when they do. On a signal of a
// bus; those of expectations also on what the controller's pins do and on the crank. Outputs, edges
// and the crank are seen as they are, whatever is said of them on a bus:
//
//   signal   its value as received
//   output   1 while it is on, else 0
//   age      s since the last edge of a channel, at least since the begin of the run
//   crank    1 while it turns, else 0
#ifndef DRYCRANK_PROFILE_CONDITION_H_
#define DRYCRANK_PROFILE_CONDITION_H_

#include <string>

#include "profile/bench.h"

namespace drycrank::profile {

enum class Compare { kEqual, kNotEqual, kAbove, kBelow };

enum class LooksAt { kReported, kOutput, kAge, kCrank };

// One line between engine and controller that has edges.
struct Line {
  enum class Kind { kTrigger, kCoil, kTrailingCoil, kInjector, kSwitch };
  Kind kind = Kind::kTrigger;
  int index = 0;  // into the controller's triggers or outputs; of coil and injector: cylinder, 0: any

  friend bool operator==(const Line&, const Line&) = default;
};

// Values of signals with names may be written by name.
struct Condition {
  SignalRef signal;
  std::string text;  // "engine_status.sync equals synchronised", for people
  Compare compare = Compare::kEqual;
  double value = 0;
  LooksAt looks_at = LooksAt::kReported;
  Line line = {};  // of an output, of an age
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_CONDITION_H_
