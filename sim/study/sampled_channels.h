// SPDX-License-Identifier: Apache-2.0
//
// The analogue channels of a controller over a run, from the volts that its pins see in each sample, as
// standin::Controller::OnSample has them.
#ifndef DRYCRANK_STUDY_SAMPLED_CHANNELS_H_
#define DRYCRANK_STUDY_SAMPLED_CHANNELS_H_

#include <vector>

#include "diagnose/pin_states.h"
#include "profile/bench.h"
#include "profile/fault.h"
#include "standin/conversion.h"

namespace drycrank::study {

class SampledChannels {
 public:
  // All outlive it; `wanted`: a flag for each channel, the others stay as they begin.
  SampledChannels(const profile::Bench& bench, const diagnose::PinStates& pins,
                  const diagnose::PinStates::Rows& rows, const std::vector<bool>& wanted);

  // A fault of kind `calibration`; others change nothing.
  void Calibrate(const profile::Fault& fault);
  // REQUIRES: one after the other, from 0.
  void OnSample(TimeNs t_ns, std::size_t sample);

  const standin::AnalogInput& at(std::size_t channel) const { return inputs_[channel]; }
  double supply_v() const { return supply_v_; }  // of the last sample

 private:
  struct Wanted {
    std::size_t channel = 0;
    int input = -1;
  };

  const profile::Controller& controller_;
  const diagnose::PinStates& pins_;
  const diagnose::PinStates::Rows& rows_;
  std::vector<standin::AnalogInput> inputs_;
  std::vector<Wanted> wanted_;
  std::size_t state_ = static_cast<std::size_t>(-1);
  double supply_v_ = 0, scale_ = 1;
};

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_SAMPLED_CHANNELS_H_
