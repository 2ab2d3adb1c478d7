// SPDX-License-Identifier: Apache-2.0
#include "io/dac_output.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <utility>

#include "types/nth.h"

namespace drycrank::io {
namespace {

// V or ohm at the terminals; nothing: that is no state of such an output.
std::optional<double> ValueOf(const output::State& state, const DacChannel& channel) {
  const auto* source = std::get_if<Source>(&state);
  if (source == nullptr) return std::nullopt;
  if (source->kind == SourceKind::kSupplyFraction) return source->value * channel.supply_v;
  if (source->kind == SourceKind::kVoltage || source->kind == SourceKind::kResistance) {
    return source->value;
  }
  return std::nullopt;
}

}  // namespace

DacOutput::DacOutput(Kind kind, std::vector<DacChannel> channels, std::string devices)
    : kind_(kind), channels_(std::move(channels)), devices_(std::move(devices)) {}

std::string DacOutput::Description() const {
  return fmt::format("{} channel{} of {}", channels_.size(), channels_.size() == 1 ? "" : "s",
                     kind_ == Kind::kDac ? "DACs" : "digital potentiometers");
}

std::span<const output::Ability> DacOutput::abilities() const {
  if (kind_ == Kind::kDac) return output::kDacAbilities;
  return output::kPotentiometerAbilities;
}

std::vector<output::SafeSetting> DacOutput::SafeSettings() const {
  std::vector<output::SafeSetting> settings;
  for (std::size_t i = 0; i < outputs_.size(); ++i) {
    settings.push_back(outputs_[i].At(SafeValue(i) / channels_[i].gain));
  }
  return settings;
}

std::string DacOutput::Open() {
  outputs_.clear();
  for (const DacChannel& channel : channels_) {
    if (std::string why = OpenChannel(channel); !why.empty()) return why;
  }
  return "";
}

std::string DacOutput::OpenChannel(const DacChannel& channel) {
  const FoundDevice found = FindIioDevice(channel.device, devices_);
  if (!found.error.empty()) return found.error;
  if (channel.channel.starts_with("resistance") != (kind_ == Kind::kPotentiometer)) {
    return fmt::format("{}: {} is no channel of a {}", found.folder, channel.channel,
                       kind_ == Kind::kDac ? "DAC; give one as voltage0"
                                           : "digital potentiometer; give one as resistance0");
  }
  std::optional<output::Steps> measured = channel.measured;
  if (measured) measured->scale /= channel.gain;
  IioOutput::Opened opened = IioOutput::Open(found.folder, channel.channel, measured);
  if (!opened.error.empty()) return opened.error;
  outputs_.push_back(std::move(opened.output));
  return WhyNotSafe(static_cast<int>(outputs_.size()) - 1);
}

// As they were measured, before it is open.
std::optional<output::Steps> DacOutput::StepsOf(int channel) const {
  if (channel < std::ssize(outputs_)) return StepsAt(channel);
  return Nth(channels_, channel).measured;
}

output::Steps DacOutput::StepsAt(int channel) const {
  output::Steps steps = Nth(outputs_, channel).steps();
  steps.scale *= Nth(channels_, channel).gain;
  return steps;
}

double DacOutput::SafeValue(std::size_t channel) const {
  const std::optional<double>& wanted = channels_[channel].safe_value;
  if (wanted) return *wanted;
  const output::Steps steps = StepsAt(static_cast<int>(channel));
  if (kind_ == Kind::kPotentiometer) return steps.MostValue();
  return std::clamp(0.0, steps.LeastValue(), steps.MostValue());
}

// Half a step is as good as there.
std::string DacOutput::WhyNotSafe(int channel) const {
  const output::Steps steps = StepsAt(channel);
  const double half = std::abs(steps.scale) / 2, value = SafeValue(AsSize(channel));
  if (value >= steps.LeastValue() - half && value <= steps.MostValue() + half) return "";
  const char* unit = kind_ == Kind::kDac ? "V" : "Ω";
  const DacChannel& at = Nth(channels_, channel);
  return fmt::format("{} of {}: its safe value is {:g} {}, and it gives {:.4g} to {:.4g} {}",
                     at.channel, at.device, value, unit, steps.LeastValue(), steps.MostValue(),
                     unit);
}

std::string DacOutput::Arm() {
  failure_.clear();
  armed_ = true;
  for (std::size_t i = 0; i < outputs_.size() && armed_; ++i) {
    Put(i, SafeValue(i));
    const int error = armed_ ? outputs_[i].PowerUp() : 0;
    if (error != 0) failure_ = fmt::format("{}: {}", channels_[i].channel, std::strerror(error));
    armed_ = failure_.empty();
  }
  return failure_;
}

void DacOutput::Give(const output::Given& given) {
  if (!armed_) return;
  const std::optional<double> value = ValueOf(given.state, Nth(channels_, given.channel));
  if (value) Put(AsSize(given.channel), *value);
}

void DacOutput::Put(std::size_t channel, double value) {
  const int error = outputs_[channel].Put(value / channels_[channel].gain);
  if (error == 0) return;
  failure_ = fmt::format("{} of {}: {}", channels_[channel].channel, channels_[channel].device,
                         std::strerror(error));
  Disarm();
}

// Each is tried, whatever became of the one before.
void DacOutput::Disarm() {
  if (!std::exchange(armed_, false)) return;
  for (std::size_t i = 0; i < outputs_.size(); ++i) {
    const int error = outputs_[i].Put(SafeValue(i) / channels_[i].gain);
    if (error != 0 && failure_.empty()) {
      failure_ = fmt::format("{} of {}: {}", channels_[i].channel, channels_[i].device,
                             std::strerror(error));
    }
  }
}

}  // namespace drycrank::io
