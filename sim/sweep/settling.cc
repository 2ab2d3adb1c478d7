// SPDX-License-Identifier: Apache-2.0
#include "sweep/settling.h"

#include <cmath>
#include <utility>

#include "types/unit.h"

namespace drycrank::sweep {

double Settling::LeftAt(TimeNs now_ns) const {
  const auto tau_ns = trend_.tau_ns();
  if (!tau_ns || *tau_ns <= 0) return away_;
  const auto passed_ns = std::max<TimeNs>(0, now_ns - sent_ns_ - way_.arrives_ns);
  return away_ * std::exp(-static_cast<double>(passed_ns) / static_cast<double>(*tau_ns));
}

void Settling::Sent(TimeNs now_ns, const Way& way) {
  away_ = LeftAt(now_ns) + way.steps;
  way_ = way;
  sent_ns_ = told_ns_ = changed_ns_ = now_ns;
  pause_ns_ = 0;
  changes_ = numbers_ = 0;
  trend_.Begin(way.digit);
}

bool Settling::Told(TimeNs now_ns, const Shown& shown) {
  const TimeNs before_ns = std::exchange(told_ns_, now_ns);
  if (shown == last_) return false;
  if (changes_ > 0) pause_ns_ = std::max(pause_ns_, now_ns - changed_ns_);
  ++changes_;
  if (shown.text != last_.text) {
    ++numbers_;
    const auto number = ParseNumberWithUnit(shown.text);
    if (number) trend_.Told(before_ns, now_ns, number->value);
  }
  changed_ns_ = now_ns;
  last_ = shown;
  return true;
}

bool Settling::HeldLongEnough(TimeNs now_ns) const {
  const bool creeps = changes_ > kCreepingChanges;
  TimeNs hold_ns = looks_ < kLearningLooks || creeps ? kHoldNs : 0;
  if (creeps) {
    const double pauses = kPauses + std::log(way_.finest);
    hold_ns = std::max<TimeNs>(hold_ns, std::llround(pauses * static_cast<double>(pause_ns_)));
  }
  return now_ns - changed_ns_ >= hold_ns && now_ns - sent_ns_ >= slowest_ns_;
}

bool Settling::HasArrived(TimeNs now_ns, double tau_ns) const {
  return LeftAt(now_ns) <= kNear &&
         static_cast<double>(now_ns - changed_ns_) >= kStillTaus * tau_ns;
}

bool Settling::Stands(TimeNs now_ns) {
  const bool stood = is_known() ? HasArrived(now_ns, static_cast<double>(*trend_.tau_ns()))
                                : HeldLongEnough(now_ns);
  if (!stood && !is_unsteady_ && now_ns - sent_ns_ < kMostNs) return false;
  if (stood) {
    slowest_ns_ = std::max(slowest_ns_, changed_ns_ - sent_ns_);
    trend_.End();
    away_ = std::min(away_, kNear);
  }
  is_unsteady_ = is_unsteady_ || !stood;
  crept_ += numbers_ > kCreepingChanges;
  ++looks_;
  return true;
}

}  // namespace drycrank::sweep
