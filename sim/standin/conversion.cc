// SPDX-License-Identifier: Apache-2.0
#include "standin/conversion.h"

#include <algorithm>
#include <cmath>

namespace drycrank::standin {
namespace {

constexpr double kMinReferenceShare = 0.1;

}  // namespace

int InputIndex(const profile::Controller& controller, std::string_view terminal) {
  for (std::size_t i = 0; i < controller.inputs.size(); ++i) {
    if (controller.inputs[i].terminal == terminal) return static_cast<int>(i);
  }
  return -1;
}

std::vector<int> InputsThatCountEdges(const profile::Controller& controller) {
  std::vector<int> inputs;
  const auto add = [&](const std::string& terminal) {
    const int input = InputIndex(controller, terminal);
    if (input >= 0 && std::ranges::count(inputs, input) == 0) inputs.push_back(input);
  };
  for (const profile::TriggerChannel& channel : controller.triggers) add(channel.terminal);
  for (const profile::FrequencyChannel& channel : controller.frequency) add(channel.terminal);
  std::ranges::sort(inputs);
  return inputs;
}

double ReferenceScale(const profile::Controller& controller, std::span<const double> reference_v) {
  if (controller.references.empty() || reference_v.empty()) return 1;
  const double nominal_v = controller.references[0].voltage_v;
  return nominal_v / std::max(reference_v[0], kMinReferenceShare * nominal_v);
}

void AnalogInput::OnSample(TimeNs t_ns, double volts, double reference_scale) {
  const double scaled_v = channel_->ratiometric ? volts * reference_scale : volts;
  const ChannelFault seen = scaled_v < channel_->low_v    ? ChannelFault::kSignalLow
                            : scaled_v > channel_->high_v ? ChannelFault::kSignalHigh
                                                          : ChannelFault::kNone;
  if (seen != suspected_) {
    suspected_ = seen;
    suspected_ns_ = t_ns;
  }
  if (seen == ChannelFault::kNone) {
    fault_ = ChannelFault::kNone;
    Smooth(t_ns, LookUp(scaled_v) * gain_ + offset_);
    return;
  }
  last_ns_ = -1;  // whatever comes after is not smoothed from here
  if (seen == fault_ || t_ns - suspected_ns_ < FromMs(channel_->fault_delay_ms)) return;
  fault_ = seen;
  value_ = channel_->fallback;
  ++faults_;
}

double AnalogInput::LookUp(double volts) {
  if (volts != known_v_) {
    known_v_ = volts;
    known_value_ = Interpolate(channel_->value_at_volts, volts);
  }
  return known_value_;
}

double AnalogInput::ShareAfter(TimeNs since_ns) {
  if (since_ns != known_ns_) {
    known_ns_ = since_ns;
    known_share_ = -std::expm1(-ToMs(since_ns) / channel_->filter_ms);
  }
  return known_share_;
}

void AnalogInput::Smooth(TimeNs t_ns, double value) {
  if (last_ns_ < 0 || channel_->filter_ms <= 0) {
    value_ = value;
  } else {
    value_ += (value - value_) * ShareAfter(t_ns - last_ns_);
  }
  last_ns_ = t_ns;
}

void AnalogInput::NoSupply() {
  value_ = channel_->fallback;
  fault_ = suspected_ = ChannelFault::kNone;
  last_ns_ = -1;
}

FrequencyInput::FrequencyInput(const profile::FrequencyChannel& channel)
    : channel_(&channel), timeout_ns_(FromMs(channel.timeout_ms)) {
  NoSupply(0);
}

void FrequencyInput::OnEdge(TimeNs t_ns, bool high) {
  last_edge_ns_ = t_ns;
  if (high) {
    if (low_seen_ && !channel_->value_at_low_ms.empty()) {
      value_ = Interpolate(channel_->value_at_low_ms, ToMs(t_ns - fall_ns_));
      fault_ = ChannelFault::kNone;
    }
    return;
  }
  if (low_seen_ && t_ns > fall_ns_ && !channel_->value_at_hz.empty()) {
    period_ns_ = t_ns - fall_ns_;
    value_ = Interpolate(channel_->value_at_hz, 1e9 / static_cast<double>(period_ns_));
    fault_ = ChannelFault::kNone;
  }
  low_seen_ = true;
  fall_ns_ = t_ns;
}

void FrequencyInput::Advance(TimeNs t_ns) {
  if (t_ns - last_edge_ns_ > timeout_ns_) {
    NoSignal();
  } else if (channel_->zero_is_valid && period_ns_ > 0 && t_ns - fall_ns_ > period_ns_) {
    // Overdue: it has become slower than the last period said.
    value_ = Interpolate(channel_->value_at_hz, 1e9 / static_cast<double>(t_ns - fall_ns_));
  }
}

void FrequencyInput::NoSignal() {
  low_seen_ = false;
  period_ns_ = 0;
  if (channel_->zero_is_valid) {
    value_ = Interpolate(channel_->value_at_hz, 0);
    return;
  }
  if (fault_ != ChannelFault::kNoSignal) ++faults_;
  fault_ = ChannelFault::kNoSignal;
  value_ = channel_->fallback;
}

void FrequencyInput::NoSupply(TimeNs t_ns) {
  last_edge_ns_ = t_ns;
  low_seen_ = false;
  period_ns_ = 0;
  fault_ = ChannelFault::kNone;
  value_ = channel_->zero_is_valid ? Interpolate(channel_->value_at_hz, 0) : channel_->fallback;
}

}  // namespace drycrank::standin
