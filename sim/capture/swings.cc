// SPDX-License-Identifier: Apache-2.0
#include "capture/swings.h"

namespace drycrank::capture {

void Swings::Add(double t_ns, double value) {
  if (!std::isfinite(value) || times_ns_.size() >= kMost || least_ <= 0) return;
  const double further = up_ ? value - extreme_ : extreme_ - value;
  if (!begun_ || further > 0) {
    begun_ = true;
    extreme_ = value;
    extreme_ns_ = t_ns;
  } else if (further < -least_) {
    times_ns_.push_back(extreme_ns_);
    up_ = !up_;
    extreme_ = value;
    extreme_ns_ = t_ns;
  }
}

}  // namespace drycrank::capture
