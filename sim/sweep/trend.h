// SPDX-License-Identifier: Apache-2.0
//
// How slowly a display that smooths comes to a value, learnt from the numbers that it told on the
// way. A low pass of first order is d(t) = d(0) e^(-t/τ) away from its end, so that between two
//   τ = (t2 - t1) / ln(d1/d2)
// Taken from the first number told to the last one that is still 5 digits away: nearer, half a
// digit of rounding is more than a tenth. Of two looks or more the longest way (by ln d) counts,
// and a tenth more. Where one half of a way (by ln d) took more than 2.5 times as long as the
// other, it is no such low pass (a number that runs at one speed to its end), and nothing is
// known: whoever asks waits by what he sees. All numbers are ours, no source.
#ifndef DRYCRANK_SWEEP_TREND_H_
#define DRYCRANK_SWEEP_TREND_H_

#include <optional>
#include <utility>
#include <vector>

#include "types/time.h"

namespace drycrank::sweep {

class Trend {
 public:
  // A way to a new value begins; `digit` is what the last one shown is worth.
  void Begin(double digit);
  // A number told: not before `since_ns`, and not after `now_ns`.
  void Told(TimeNs since_ns, TimeNs now_ns, double number);
  // It stands at the last of them.
  void End();
  // Nothing: not known.
  std::optional<TimeNs> tau_ns() const;

 private:
  static constexpr int kEnoughLooks = 2;
  static constexpr double kNearDigits = 5, kUneven = 2.5, kMore = 1.1;

  struct Number {
    TimeNs since_ns = 0, now_ns = 0;
    double number = 0;
  };
  std::vector<std::pair<Number, double>> Away() const;  // with how far from the end

  std::vector<Number> numbers_;
  double digit_ = 1;
  double tau_ns_ = 0, longest_ = 0;
  int looks_ = 0;
  bool is_other_ = false;
};

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_TREND_H_
