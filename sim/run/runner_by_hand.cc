// SPDX-License-Identifier: Apache-2.0
//
// What is done to a run while it runs: values and faults by hand.
#include <algorithm>

#include "run/runner.h"

namespace drycrank::run {

void Runner::Override(int stimulus, double value, double over_s) {
  now_ns_ = PlayedNs();
  DrainBefore(now_ns_);
  power_nodes_.LookBefore(now_ns_);
  timeline_.Override(stimulus, value, over_s, now_ns_);
  plant_.OnStep(now_ns_);
  for (RunObserver* observer : observers_) observer->OnDrive(stimulus, value, over_s, now_ns_);
}

void Runner::Crank(double rpm) {
  now_ns_ = PlayedNs();
  DrainBefore(now_ns_);
  power_nodes_.LookBefore(now_ns_);
  timeline_.Crank(rpm, now_ns_);
  plant_.OnStep(now_ns_);
  for (RunObserver* observer : observers_) observer->OnCrank(rpm, now_ns_);
}

void Runner::AddFault(const profile::Fault& fault) {
  RemoveFault(fault.name);
  by_hand_.push_back(fault);
  now_ns_ = PlayedNs();
  ApplyFaults(now_ns_);
}

bool Runner::RemoveFault(const std::string& name) {
  const auto found = std::find_if(by_hand_.begin(), by_hand_.end(),
                                  [&](const profile::Fault& f) { return f.name == name; });
  if (found == by_hand_.end()) return false;
  // It stays alive until everyone has been told that it is gone.
  std::list<profile::Fault> retired;
  retired.splice(retired.begin(), by_hand_, found);
  now_ns_ = PlayedNs();
  ApplyFaults(now_ns_);
  return true;
}

bool Runner::HasFault(const std::string& name) const {
  return std::ranges::any_of(by_hand_, [&](const profile::Fault& f) { return f.name == name; });
}

std::vector<std::string> Runner::FaultsInForce() const {
  std::vector<std::string> names;
  for (const profile::Fault* fault : in_force_) names.push_back(fault->name);
  return names;
}

}  // namespace drycrank::run
