// SPDX-License-Identifier: Apache-2.0
#include "study/sampled_channels.h"

#include "types/nth.h"

namespace drycrank::study {

SampledChannels::SampledChannels(const profile::Bench& bench, const diagnose::PinStates& pins,
                                 const diagnose::PinStates::Rows& rows,
                                 const std::vector<bool>& wanted)
    : controller_(*bench.controller), pins_(pins), rows_(rows) {
  for (std::size_t c = 0; c < controller_.analog.size(); ++c) {
    const profile::AnalogChannel& channel = controller_.analog[c];
    inputs_.emplace_back(channel);
    if (wanted[c]) wanted_.push_back({c, standin::InputIndex(controller_, channel.terminal)});
  }
}

void SampledChannels::Calibrate(const profile::Fault& fault) {
  const auto* table = fault.As<profile::fault::Calibration>();
  const int channel = table == nullptr ? -1 : profile::IndexOf(controller_.analog, fault.at);
  if (channel >= 0) Nth(inputs_, channel).SetCalibration(table->gain, table->value);
}

void SampledChannels::OnSample(TimeNs t_ns, std::size_t sample) {
  const std::size_t state = pins_.StateAt(sample);
  if (state != state_) {
    state_ = state;
    supply_v_ = rows_.supply_v(state);
    scale_ = standin::ReferenceScale(controller_, rows_.reference_v(state));
  }
  const bool powered = supply_v_ >= controller_.min_supply_v;
  for (const auto& [channel, input] : wanted_) {
    if (!powered) {
      inputs_[channel].NoSupply();
    } else if (input >= 0) {
      inputs_[channel].OnSample(t_ns, rows_.input_v(state, input), scale_);
    }
  }
}

}  // namespace drycrank::study
