// SPDX-License-Identifier: Apache-2.0
#include "sweep/settling.h"

#include <cmath>

namespace drycrank::sweep {

void Settling::Sent(TimeNs now_ns, double finest) {
  sent_ns_ = changed_ns_ = now_ns;
  pause_ns_ = 0;
  changes_ = numbers_ = 0;
  finest_ = finest;
}

bool Settling::Told(TimeNs now_ns, const Shown& shown) {
  if (shown == last_) return false;
  if (changes_ > 0) pause_ns_ = std::max(pause_ns_, now_ns - changed_ns_);
  ++changes_;
  if (shown.text != last_.text) ++numbers_;
  changed_ns_ = now_ns;
  last_ = shown;
  return true;
}

bool Settling::Stands(TimeNs now_ns) {
  const bool creeps = changes_ > kCreepingChanges;
  TimeNs hold_ns = looks_ < kLearningLooks || creeps ? kHoldNs : 0;
  if (creeps) {
    const double pauses = kPauses + std::log(finest_);
    hold_ns = std::max<TimeNs>(hold_ns, std::llround(pauses * static_cast<double>(pause_ns_)));
  }
  const bool stood =
      now_ns - changed_ns_ >= hold_ns && now_ns - sent_ns_ >= slowest_ns_;
  if (!stood && !is_unsteady_ && now_ns - sent_ns_ < kMostNs) return false;
  if (stood) slowest_ns_ = std::max(slowest_ns_, changed_ns_ - sent_ns_);
  is_unsteady_ = is_unsteady_ || !stood;
  crept_ += numbers_ > kCreepingChanges;
  ++looks_;
  return true;
}

}  // namespace drycrank::sweep
