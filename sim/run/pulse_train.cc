// SPDX-License-Identifier: Apache-2.0
#include "run/pulse_train.h"

#include <algorithm>

namespace drycrank::run {
namespace {
constexpr TimeNs kLookAgainNs = 5 * kNsPerMs;
constexpr double kSlowestHz = 0.5;  // below this a wheel counts as standing still
}  // namespace

bool PulseTrain::Take(double hz, double low_s) {
  const bool was_low = low_;
  if (low_ && next_ns_ < period_end_ns_) {  // the low part is over
    low_ = false;
    next_ns_ = period_end_ns_;
  } else if (hz < kSlowestHz) {
    low_ = false;
    next_ns_ += kLookAgainNs;
    period_end_ns_ = next_ns_;
  } else {
    const TimeNs begin_ns = next_ns_;
    const TimeNs period_ns = FromSeconds(1.0 / hz);
    low_ = true;
    period_end_ns_ = begin_ns + period_ns;
    next_ns_ = begin_ns + std::clamp<TimeNs>(FromSeconds(low_s), 1, period_ns - 1);
  }
  return low_ != was_low;
}

}  // namespace drycrank::run
