// SPDX-License-Identifier: Apache-2.0
#include "plant/pulse_train.h"

#include <algorithm>

namespace drycrank::plant {
namespace {
constexpr TimeNs kLookNs = 5 * kNsPerMs;
constexpr double kStandsHz = 1e-3;  // slower than this: no period ends within any run's patience
}  // namespace

bool PulseTrain::Take(double hz, double low_s) {
  const bool was_low = low_;
  const TimeNs now_ns = next_ns_;
  const bool begins = now_ns == period_end_ns_;
  phase_ = begins ? 0 : phase_ + hz_ * ToSeconds(now_ns - last_ns_);
  if (low_ && now_ns >= low_end_ns_) low_ = false;
  last_ns_ = now_ns;
  hz_ = hz;
  if (hz < kStandsHz) {
    period_end_ns_ = kNever;
  } else {
    period_end_ns_ = now_ns + std::max<TimeNs>(2, FromSeconds((1 - phase_) / hz));
    if (begins) {
      low_ = true;
      low_end_ns_ = now_ns + std::max<TimeNs>(1, FromSeconds(low_s));
    }
    // A pulse longer than its period, or a wheel that got faster: the output still comes up between.
    low_end_ns_ = std::min(low_end_ns_, period_end_ns_ - 1);
  }
  next_ns_ = std::min(period_end_ns_, now_ns + kLookNs);
  if (low_) next_ns_ = std::min(next_ns_, std::max(low_end_ns_, now_ns + 1));
  return low_ != was_low;
}

}  // namespace drycrank::plant
