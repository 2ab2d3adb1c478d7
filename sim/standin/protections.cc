// SPDX-License-Identifier: Apache-2.0
#include "standin/protections.h"

#include <algorithm>

#include "profile/told_controller.h"

namespace drycrank::standin {

using profile::ProtectionAction;

void Guard::LetGo() { acts_ = beyond_ = false; }

void Guard::OnSample(TimeNs t_ns, double value, double rpm) {
  if (rpm < protection_.needs_above_rpm) {
    LetGo();
    return;
  }
  if (acts_) {
    acts_ = beyond_ = protection_.IsBeyond(value, protection_.release);
    return;
  }
  const bool beyond = protection_.IsBeyond(value, protection_.limit);
  if (beyond && !beyond_) since_ns_ = t_ns;
  beyond_ = beyond;
  acts_ = beyond && t_ns - since_ns_ >= FromMs(protection_.delay_ms);
}

void Protections::Tell(std::span<const profile::Fault> told) {
  guards_.clear();
  for (profile::Protection protection : *set_) {
    for (const profile::Fault& fault : told) profile::Tell(fault, protection);
    guards_.emplace_back(protection);
  }
}

void Protections::LetGo() {
  for (Guard& guard : guards_) guard.LetGo();
}

bool Protections::Acts(ProtectionAction action) const {
  return std::ranges::any_of(guards_, [action](const Guard& guard) {
    return guard.acts() && guard.protection().action == action;
  });
}

double Protections::LimitRpm(double usual_rpm) const {
  for (const Guard& guard : guards_) {
    if (!guard.acts() || guard.protection().action != ProtectionAction::kLimitSpeed) continue;
    usual_rpm = std::min(usual_rpm, guard.protection().limit_to_rpm);
  }
  return usual_rpm;
}

bool Protections::IsOff(int output) const {
  return std::ranges::any_of(guards_, [output](const Guard& guard) {
    return guard.acts() && guard.protection().output == output;
  });
}

}  // namespace drycrank::standin
