// SPDX-License-Identifier: Apache-2.0
//
// The outputs of a bench that runs live, behind the same guards as those of a run.
#ifndef DRYCRANK_TOOLS_DRYCRANKD_OUTPUTS_H_
#define DRYCRANK_TOOLS_DRYCRANKD_OUTPUTS_H_

#include <string>
#include <vector>

#include "daemon/live_outputs.h"
#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "tools/output_devices.h"

namespace drycrank::tools {

class DaemonOutputs : public daemon::LiveOutputs {
 public:
  // Bench and scenario must outlive it.
  DaemonOutputs(const profile::Bench& bench, const profile::Scenario& scenario)
      : bench_(bench), scenario_(scenario), devices_(bench, scenario) {}

  // Each is reached, nothing moves. Empty, or it is said why not; `bad_input`: by the files.
  std::string Open(bool& bad_input);
  // Fed from now on, and driven when they may.
  std::string Begin(bool armed);
  OutputDevices& devices() { return devices_; }

  std::vector<bus::Driven> Drives() const override { return devices_.Drives(); }
  bool armed() const override { return armed_; }
  std::vector<std::string> Cautions() const override;
  std::string WhyNot(const profile::Drive& drive) const override;
  std::string WhyNot(const profile::Fault& fault) const override;
  std::string Arm(TimeNs now_ns) override;
  std::string Disarm(TimeNs now_ns) override;
  std::string failure() const override;

 private:
  std::string WhyNot(const profile::Scenario& scenario) const;

  const profile::Bench& bench_;
  const profile::Scenario& scenario_;
  OutputDevices devices_;
  bool armed_ = false;
  std::string failure_;  // of an end that was not safe
};

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_DRYCRANKD_OUTPUTS_H_
