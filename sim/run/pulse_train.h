// SPDX-License-Identifier: Apache-2.0
//
// The output of a frequency sensor as edges. Each period takes the frequency and low time that hold
// at its begin; whole nanoseconds, so that a period is off by at most half a nanosecond.
//
//   output  __________      __________      ____
//             low_s   |____|  low_s   |____|
//           ^ period begins
#ifndef DRYCRANK_RUN_PULSE_TRAIN_H_
#define DRYCRANK_RUN_PULSE_TRAIN_H_

#include "types/time.h"

namespace drycrank::run {

class PulseTrain {
 public:
  // The next instant at which something happens: an edge, or at standstill another look.
  TimeNs next_ns() const { return next_ns_; }
  bool low() const { return low_; }
  // REQUIRES: now == next_ns(). hz and low_s are those at this instant; low_s < 1 / hz.
  // True when the level changed.
  bool Take(double hz, double low_s);

 private:
  TimeNs next_ns_ = 0;
  TimeNs period_end_ns_ = 0;
  bool low_ = false;
};

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_PULSE_TRAIN_H_
