// SPDX-License-Identifier: Apache-2.0
//
// A condition on a bus signal: what a step waits for, and what expectations require.
#ifndef DRYCRANK_PROFILE_CONDITION_H_
#define DRYCRANK_PROFILE_CONDITION_H_

#include <string>

#include "profile/bench.h"

namespace drycrank::profile {

enum class Compare { kEqual, kNotEqual, kAbove, kBelow };

// Values of signals with names may be written by name.
struct Condition {
  SignalRef signal;
  std::string text;  // "engine_status.sync equals synchronised", for people
  Compare compare = Compare::kEqual;
  double value = 0;
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_CONDITION_H_
