// SPDX-License-Identifier: Apache-2.0
//
// What the controller does by itself when a value that it has leaves its limit (profile/protection.h).
// It looks once per sample, at its own values: what its sensors' wires do to them, they do to this.
#ifndef DRYCRANK_STANDIN_PROTECTIONS_H_
#define DRYCRANK_STANDIN_PROTECTIONS_H_

#include <span>
#include <vector>

#include "profile/bench.h"
#include "profile/fault.h"
#include "profile/protection.h"
#include "types/time.h"

namespace drycrank::standin {

// One of them, as it was told.
class Guard {
 public:
  explicit Guard(const profile::Protection& protection) : protection_(protection) {}

  void OnSample(TimeNs t_ns, double value, double rpm);
  void LetGo();

  const profile::Protection& protection() const { return protection_; }
  bool acts() const { return acts_; }

 private:
  profile::Protection protection_;
  bool acts_ = false;
  bool beyond_ = false;
  TimeNs since_ns_ = 0;  // when it came beyond
};

class Protections {
 public:
  explicit Protections(const std::vector<profile::Protection>& set) : set_(&set) { Tell({}); }

  // Set up anew, with these faults of kind `told`.
  void Tell(std::span<const profile::Fault> told);
  void LetGo();

  std::vector<Guard>& guards() { return guards_; }
  const std::vector<Guard>& guards() const { return guards_; }
  bool Acts(profile::ProtectionAction action) const;
  // Above it, no sparks and no injections.
  double LimitRpm(double usual_rpm) const;
  bool IsOff(int output) const;

 private:
  const std::vector<profile::Protection>* set_;
  std::vector<Guard> guards_;
};

}  // namespace drycrank::standin

#endif  // DRYCRANK_STANDIN_PROTECTIONS_H_
