// SPDX-License-Identifier: Apache-2.0
//
// Outputs beside the buses, as the daemon sees them: what they would drive, what they cannot give, and
// that they are armed and disarmed while the bench runs.
#ifndef DRYCRANK_DAEMON_LIVE_OUTPUTS_H_
#define DRYCRANK_DAEMON_LIVE_OUTPUTS_H_

#include <string>
#include <vector>

#include "bus/driven.h"
#include "profile/fault.h"
#include "profile/scenario_file.h"
#include "types/time.h"

namespace drycrank::daemon {

class LiveOutputs {
 public:
  virtual ~LiveOutputs() = default;
  virtual std::vector<bus::Driven> Drives() const = 0;
  virtual bool armed() const = 0;
  // What they can do to a person, to be read before they are armed.
  virtual std::vector<std::string> Cautions() const = 0;
  // Empty, or why one of them cannot give it.
  virtual std::string WhyNot(const profile::Drive& drive) const = 0;
  virtual std::string WhyNot(const profile::Fault& fault) const = 0;
  // Empty, or why not. All of them are in their safe state when Disarm returns.
  virtual std::string Arm(TimeNs now_ns) = 0;
  virtual std::string Disarm(TimeNs now_ns) = 0;
  // The first that failed; empty: none has.
  virtual std::string failure() const = 0;
};

}  // namespace drycrank::daemon

#endif  // DRYCRANK_DAEMON_LIVE_OUTPUTS_H_
