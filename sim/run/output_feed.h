// SPDX-License-Identifier: Apache-2.0
//
// What a run hands to one output: of each channel its state at the sensor, before the harness, whenever
// it is another than before (output/output.h). The plant goes on as without: this only listens.
//
//   OnMotion, OnEmf, OnAdvance   the plant's own          wheels, coils, Hall sensors edge by edge
//   OnFault                      plant/sources.h          what is wrong with wheel and pickup; relays of faults
//   OnSample                     plant/sources.h          sensors, each 10 ms
#ifndef DRYCRANK_RUN_OUTPUT_FEED_H_
#define DRYCRANK_RUN_OUTPUT_FEED_H_

#include <span>
#include <optional>
#include <string>
#include <vector>

#include "output/ability.h"
#include "output/handover.h"
#include "profile/bench.h"
#include "profile/output_device.h"
#include "profile/scenario_file.h"
#include "run/observer.h"
#include "scenario/timeline.h"

namespace drycrank::run {

class OutputFeed : public RunObserver {
 public:
  // All must outlive it. REQUIRES: OutputProblems(bench, scenario) is empty for the device.
  OutputFeed(const profile::Bench& bench, const profile::Scenario& scenario,
             const profile::OutputDevice& device, output::Handover& handover);

  void OnStep(std::size_t step, TimeNs t_ns) override;
  void OnFault(const std::string& name, bool in_force, TimeNs t_ns) override;
  void OnMotion(const CrankMotion& motion) override;
  void OnEmf(int trigger, const Wave& emf) override;
  void OnAdvance(int trigger, double deg, TimeNs t_ns) override;
  void OnSample(TimeNs t_ns) override;
  void OnDrive(int stimulus, double value, double over_s, TimeNs t_ns) override;
  void OnCrank(double rpm, TimeNs t_ns) override;
  // To an output that was armed just now: all that is in force, once more.
  void GiveAnew(TimeNs t_ns);

 private:
  struct Channel {
    const profile::OutputChannel* at = nullptr;
    output::Form form = output::Form::kWheel;
    output::WheelState wheel = {};
    Source source = {};
    output::SupplyVolts supply = {};
    bool conducts = false;  // of a Hall sensor
    bool given = false;
    std::vector<const profile::Fault*> puts_in = {};  // of a fault's relay
  };

  void GiveWheel(Channel& channel, TimeNs t_ns);
  void GiveSwitch(Channel& channel, TimeNs t_ns);
  void GiveSensor(Channel& channel, TimeNs t_ns);
  void GiveSupply(Channel& channel, TimeNs t_ns);
  void GiveRelays(TimeNs t_ns);
  template <class State>
  void Give(Channel& channel, State& last, const State& now, TimeNs t_ns);
  bool IsOf(const Channel& channel, int trigger, output::Form form) const;
  int NumberOf(const Channel& channel) const {
    return static_cast<int>(&channel - channels_.data());
  }

  const profile::Bench& bench_;
  const profile::Scenario& scenario_;
  output::Handover& handover_;
  scenario::Timeline timeline_;
  std::vector<Channel> channels_;
  std::vector<double> advance_deg_;  // per trigger
  std::optional<CrankMotion> motion_;
  std::vector<const profile::Fault*> in_force_;
};

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_OUTPUT_FEED_H_
