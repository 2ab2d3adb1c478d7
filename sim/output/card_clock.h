// SPDX-License-Identifier: Apache-2.0
//
// A sound card's clock, measured by the computer's. A card that says 192 kHz plays some ten or hundred
// ppm more or less; which sample it plays at which instant follows from what it says it has played:
//
//   d_i = played_i - f t_i          what it is ahead of its nominal rate f, frames
//   d(t) = d + s (t - now)          straight line by least squares, weights exp(-(now - t_i) / T), T = 10 s
//   error = s / f                   ppm; rate = f + s
//
// A report may be off by a period of the card, early or late: the line takes the mean. Before kLearnedS
// of reports the rate counts as nominal, and the error is none. A card that has not begun to play says
// nothing of its clock, and one instant counts once: what it says while its buffer is filled would hold the
// mean where it was before the card had begun.
#ifndef DRYCRANK_OUTPUT_CARD_CLOCK_H_
#define DRYCRANK_OUTPUT_CARD_CLOCK_H_

#include <optional>

#include "types/time.h"

namespace drycrank::output {

class CardClock {
 public:
  static constexpr double kForgetS = 10, kLearnedS = 2;

  explicit CardClock(double rate_hz) : rate_hz_(rate_hz) {}

  // At now_ns the card had played so many frames since it was started. REQUIRES: now_ns never falls.
  void Report(TimeNs now_ns, double played_frames);
  // The card was started anew: what was played begins again. The rate is remembered.
  void Restart();

  // When this frame is played. REQUIRES: a report since the last start.
  TimeNs PlayedAt(double frame) const;
  double rate_hz() const { return rate_hz_ + slope_; }
  // What the card is fast, ppm.
  std::optional<double> error_ppm() const;

 private:
  double rate_hz_;
  double slope_ = 0, ahead_ = 0;  // frames a second, frames
  bool is_learned_ = false;
  bool has_report_ = false, has_played_ = false;
  TimeNs first_ns_ = 0, now_ns_ = 0;
  // Sums of weight, weight x, weight x^2, weight d, weight x d; x = seconds before now, <= 0.
  double sum_ = 0, sum_x_ = 0, sum_xx_ = 0, sum_d_ = 0, sum_xd_ = 0;
};

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_CARD_CLOCK_H_
