// SPDX-License-Identifier: Apache-2.0
//
// The output of a frequency sensor as edges. The phase is the integral of the frequency, which is
// looked at when a period begins and at least every 5 ms after: a wheel that starts to turn is not
// held to the length its first period would have had. Whole nanoseconds: an edge is off by at most
// half a nanosecond, and nothing is carried on from one period to the next.
//
//   output  __________      __________      ____
//             low_s   |____|  low_s   |____|
//           ^ period begins
#ifndef DRYCRANK_PLANT_PULSE_TRAIN_H_
#define DRYCRANK_PLANT_PULSE_TRAIN_H_

#include "types/time.h"

namespace drycrank::plant {

class PulseTrain {
 public:
  // The next instant at which something happens: an edge, or another look at the frequency.
  TimeNs next_ns() const { return next_ns_; }
  bool low() const { return low_; }
  // REQUIRES: now == next_ns(). hz >= 0 and low_s are those at this instant.
  // True when the level changed.
  bool Take(double hz, double low_s);

 private:
  TimeNs last_ns_ = 0;  // of the last Take
  TimeNs next_ns_ = 0;
  TimeNs low_end_ns_ = 0;
  TimeNs period_end_ns_ = kNever;
  double phase_ = 0;  // of the period, [0, 1]
  double hz_ = 0;     // since last_ns_
  bool low_ = false;
};

}  // namespace drycrank::plant

#endif  // DRYCRANK_PLANT_PULSE_TRAIN_H_
