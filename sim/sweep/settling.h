// SPDX-License-Identifier: Apache-2.0
//
// When what a display tells of one readout stands, after a new value was sent: a display may smooth
// it, or tell it slowly. What it takes is learnt from what was seen, readout by readout:
//   hold     it has to stay the same for 0.3 s, in the first looks and wherever it crept; longer than
//            five times the longest pause between two of its changes, for a value that is smoothed
//            comes to its end in ever longer pauses. Where one digit shown is n steps of the message,
//            ln n of these pauses more: a limit lies between two steps, and a low pass of first order
//            goes from one digit to the next, half a digit before its end, in ln 3 of its time, and
//            from there to the n-th part of a digit in ln n of it
//   slowest  and for as long as the slowest change before took
//   trend    where it is known how slowly it comes (trend.h), instead of both: until it is within
//            a hundredth of a step, τ ln(100 n) after a value n steps away was sent, and 3 τ after
//            its last change
// After 30 s it is taken as it is and counts as unsteady; that readout is then waited for no more.
// A number that came to its end by more than two others on its way, three times, is smoothed.
// All times are ours, no source.
#ifndef DRYCRANK_SWEEP_SETTLING_H_
#define DRYCRANK_SWEEP_SETTLING_H_

#include <algorithm>

#include "sweep/trend.h"
#include "sweep/what_it_showed.h"
#include "types/time.h"

namespace drycrank::sweep {

class Settling {
 public:
  static constexpr TimeNs kHoldNs = 300 * kNsPerMs, kMostNs = 30 * kNsPerS;

  struct Way {
    double finest = 1;       // how many steps of its message are one digit shown
    double digit = 1;        // the last one shown
    double steps = 1e12;     // from what was sent before, of the message or the digit, the finer
    TimeNs arrives_ns = 0;   // what was sent comes at most so much later
  };
  void Sent(TimeNs now_ns, const Way& way);
  // True: it is not what was told before.
  bool Told(TimeNs now_ns, const Shown& shown);
  // REQUIRES: what was told last was told again.
  bool Stands(TimeNs now_ns);
  bool is_unsteady() const { return is_unsteady_; }
  bool is_smoothed() const { return crept_ >= kCreptLooks; }
  // Smoothed, and it is known how slowly.
  bool is_known() const { return is_smoothed() && trend_.tau_ns(); }

 private:
  static constexpr int kLearningLooks = 3, kCreepingChanges = 2, kPauses = 5, kCreptLooks = 3;
  static constexpr double kNear = 0.01, kStillTaus = 3;

  bool HeldLongEnough(TimeNs now_ns) const;
  bool HasArrived(TimeNs now_ns, double tau_ns) const;
  double LeftAt(TimeNs now_ns) const;

  Shown last_;
  TimeNs sent_ns_ = 0, told_ns_ = 0, changed_ns_ = 0, pause_ns_ = 0, slowest_ns_ = 0;
  Way way_;
  double away_ = 0;  // steps, when it was sent
  Trend trend_;
  int changes_ = 0, numbers_ = 0, looks_ = 0, crept_ = 0;
  bool is_unsteady_ = false;
};

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_SETTLING_H_
