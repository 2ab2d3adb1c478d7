// SPDX-License-Identifier: Apache-2.0
//
// The output devices of a bench in one run: opened, shown to who arms them, fed by the run as it goes,
// disarmed at its end, at a stop, and when one of them fails. What they would be asked for that they
// cannot give is said before any of them is touched.
#ifndef DRYCRANK_TOOLS_OUTPUT_DEVICES_H_
#define DRYCRANK_TOOLS_OUTPUT_DEVICES_H_

#include <functional>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "bus/driven.h"
#include "io/output_thread.h"
#include "output/handover.h"
#include "output/output.h"
#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "run/observer.h"
#include "run/output_feed.h"
#include "types/diagnostic.h"

namespace drycrank::tools {

class OutputDevices : public run::RunObserver {
 public:
  // Bench and scenario must outlive it.
  OutputDevices(const profile::Bench& bench, const profile::Scenario& scenario)
      : bench_(bench), scenario_(scenario) {}

  // None is reached, but what Drives says is known. Empty, or why not. REQUIRES: run::OutputProblems is empty.
  std::string Make();
  // Each device is reached, nothing moves; made before, where that has not been done. Empty, or why not.
  std::string Open();
  // What they do not reach, or not in time, as far as it is known; nothing may be armed then.
  Diagnostics Unreached() const;
  // By the names of section `drives`, for --arm. When they are open some know more of themselves.
  std::vector<bus::Driven> Drives() const;
  // They are armed, or, for a run that drives nothing, not; and fed from now on. Empty, or why not.
  std::string Begin(bool armed);
  // Disarms all. Empty, or what failed on the way.
  std::string Stop();
  // Of a run by hand that has begun: all of them are armed at now_ns and given what is in force, or
  // disarmed. Empty, or why not.
  std::string ArmNow(TimeNs now_ns);
  std::string DisarmNow(TimeNs now_ns);
  // What they do not give of another scenario. After Open.
  Diagnostics WhyNot(const profile::Scenario& scenario) const;
  // Is told what each device has to say at the run's end, "card: card 12.4 ppm fast; ...".
  using Tell = std::function<void(const std::string& report, TimeNs t_ns)>;
  void TellTo(Tell tell) { tell_ = std::move(tell); }
  // The first that failed; empty: none has.
  std::string failure() const;

  void OnClockStart(TimeNs origin_ns) override;
  void OnStep(std::size_t step, TimeNs t_ns) override;
  void OnFault(const std::string& name, bool in_force, TimeNs t_ns) override;
  void OnMotion(const CrankMotion& motion) override;
  void OnEmf(int trigger, const Wave& emf) override;
  void OnAdvance(int trigger, double deg, TimeNs t_ns) override;
  void OnSample(TimeNs t_ns) override;
  void OnDrive(int stimulus, double value, double over_s, TimeNs t_ns) override;
  void OnCrank(double rpm, TimeNs t_ns) override;
  // What follows may wait for a disk.
  void OnEnd(const std::string& why, TimeNs t_ns) override;

 private:
  struct Device {
    const profile::OutputDevice* at = nullptr;
    std::unique_ptr<output::Output> output = {};
    std::unique_ptr<output::Handover> handover = {};
    std::unique_ptr<run::OutputFeed> feed = {};
    std::unique_ptr<io::OutputThread> thread = {};  // after the others: ends first
  };

  const profile::Bench& bench_;
  const profile::Scenario& scenario_;
  void TellReports(TimeNs t_ns) const;
  void GoOn(TimeNs now_ns);

  std::vector<Device> devices_;
  Tell tell_;
};

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_OUTPUT_DEVICES_H_
