// SPDX-License-Identifier: Apache-2.0
//
// When what a display tells of one readout stands, after a new value was sent: a display may smooth
// it, or tell it slowly. What it takes is learnt from what was seen, readout by readout:
//   hold     it has to stay the same for 0.3 s, in the first looks and wherever it crept; longer than
//            three times the longest pause between two of its changes, for a value that is smoothed
//            comes to its end in ever longer pauses
//   slowest  and for as long as the slowest change before took
// After 10 s it is taken as it is and counts as unsteady; that readout is then waited for no more.
// All times are ours, no source.
#ifndef DRYCRANK_SWEEP_SETTLING_H_
#define DRYCRANK_SWEEP_SETTLING_H_

#include <algorithm>

#include "sweep/what_it_showed.h"
#include "types/time.h"

namespace drycrank::sweep {

class Settling {
 public:
  static constexpr TimeNs kHoldNs = 300 * kNsPerMs, kMostNs = 10 * kNsPerS;

  void Sent(TimeNs now_ns);
  // True: it is not what was told before.
  bool Told(TimeNs now_ns, const Shown& shown);
  // REQUIRES: what was told last was told again.
  bool Stands(TimeNs now_ns);
  bool is_unsteady() const { return is_unsteady_; }

 private:
  static constexpr int kLearningLooks = 3, kCreepingChanges = 2, kPauses = 3;

  Shown last_;
  TimeNs sent_ns_ = 0, changed_ns_ = 0, pause_ns_ = 0, slowest_ns_ = 0;
  int changes_ = 0, looks_ = 0;
  bool is_unsteady_ = false;
};

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_SETTLING_H_
