// SPDX-License-Identifier: Apache-2.0
#include "diagnose/channels.h"

#include <algorithm>
#include <cmath>

#include "profile/triggers.h"
#include "standin/controller.h"
#include "standin/conversion.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

constexpr double kStirsV = 0.1;      // a device that moves an input by less is not felt
constexpr double kRestsV = 0.005;    // all that conducts together moves one at rest by less: not felt
constexpr double kStirsGain = 0.01;  // nor a coil
// So many disturbances a second leave half of the readings right: common practice, no source.
constexpr double kSpoiltHz = 300;
constexpr double kMostRpm =
    1e5;  // of two edges as close as a disturbance is wide; a signal carries less

bool IsRecalibrated(const profile::AnalogChannel& channel, plant::Faults faults) {
  return std::any_of(faults.begin(), faults.end(), [&](const profile::Fault* fault) {
    return fault->Is<profile::fault::Calibration>() && fault->at == channel.name;
  });
}

bool MovesSensors(plant::Faults faults) {
  return std::any_of(faults.begin(), faults.end(), [](const profile::Fault* fault) {
    return fault->Is<profile::fault::SensorOffset>() || fault->Is<profile::fault::SensorStuck>();
  });
}

// SameAt of every input at once, with none of its early ends: a loop without branches. No inputs
// where there is nothing to compare with.
std::vector<char> MovedInputs(const Electrical& a, const Electrical* b) {
  std::vector<char> moved(b == nullptr ? 0 : a.input_v.size(), 0);
  const auto add = [&](const std::vector<double>& one, const std::vector<double>& other) {
    for (std::size_t i = 0; i < moved.size(); ++i) moved[i] |= std::abs(one[i] - other[i]) > kSameV;
  };
  if (b == nullptr) return moved;
  add(a.input_v, b->input_v);
  for (std::size_t s = 0; s < a.reaches.size(); ++s) {
    const Reach &one = a.reaches[s], &other = b->reaches[s];
    one.coil ? add(one.gain, other.gain) : add(one.on_v, other.on_v);
  }
  return moved;
}

// The most of them a second; 0: none.
double NoiseHz(plant::Faults faults) {
  double most_hz = 0;
  for (const profile::Fault* fault : faults) {
    const auto* noise = fault->As<profile::fault::ElectricalNoise>();
    if (noise != nullptr) most_hz = std::max(most_hz, noise->rate_hz);
  }
  return most_hz;
}

// Of two ways that a value may rest, the band.
Prediction Around(const Prediction& a, const Prediction& b) {
  if (a == b) return a;
  return Prediction::Band(std::min(a.low(), b.low()), std::max(a.high(), b.high()));
}

Prediction FaultValue(standin::ChannelFault fault) {
  return Prediction::Value(static_cast<double>(fault));
}

}  // namespace

ChannelModel::ChannelModel(const profile::Bench& bench)
    : bench_(bench), watch_(bench), names_(standin::ControllerValueNames(*bench.controller)) {
  const profile::Controller& controller = *bench.controller;
  first_channel_ = names_.size() - 2 * (controller.analog.size() + controller.frequency.size());
  supply_ = static_cast<std::size_t>(std::find(names_.begin(), names_.end(), "supply_voltage") -
                                     names_.begin());
  const auto input_of = [&](const auto& channel) {
    return standin::InputIndex(controller, channel.terminal);
  };
  for (const auto& channel : controller.analog) analog_inputs_.push_back(input_of(channel));
  for (const auto& channel : controller.frequency) frequency_inputs_.push_back(input_of(channel));
  for (const auto& channel : controller.triggers) trigger_inputs_.push_back(input_of(channel));
}

// Does it conduct and block by turns in this situation?
bool ChannelModel::Switches(const Reach& reach, const ElectricalModel& model,
                            const Situation& situation) const {
  const int sensor = reach.device - static_cast<int>(bench_.triggers.size());
  return sensor < 0 ? situation.engine_rpm() > 0 : model.SourceIn(sensor, situation).hz > 0;
}

bool ChannelModel::Stirs(const Reach& reach, int input, const Electrical& electrical) const {
  return reach.coil ? std::abs(Nth(reach.gain, input)) >= kStirsGain
                    : std::abs(Nth(reach.on_v, input) - Nth(electrical.input_v, input)) >= kStirsV;
}

// Speed, position and cam angles; the supply is measured, the channels are each for itself.
void ChannelModel::SetPosition(ControllerValues& values, const ControllerValues& from) const {
  for (std::size_t v = 0; v < first_channel_; ++v) {
    if (v != supply_) values.Set(v, from[v]);
  }
}

// Edges that come by chance: what the decoder makes of them nobody knows. It comes and goes, and
// mostly is what it would be without them.
void ChannelModel::Disturb(double rate_hz, ControllerValues& values) const {
  const double undisturbed = 1 / (1 + rate_hz / kSpoiltHz);
  const auto anything = [&](std::size_t v, double low, double high) {
    if (!values[v].is_value()) return;
    values.Set(v, Prediction::Restless(low, high, values[v].low(), undisturbed));
  };
  for (std::size_t v = 0; v < first_channel_; ++v) {
    if (names_[v] == "engine_speed") anything(v, 0, kMostRpm);
    if (names_[v] == "sync_state") anything(v, 0, 3);
    if (names_[v] == "sync_reason") anything(v, 0, 15);
    if (names_[v].starts_with("cam_angle.")) anything(v, -360, 720);
  }
}

bool ChannelModel::WantsPosition(const Settled& like) const {
  for (std::size_t v = 0; v < first_channel_; ++v) {
    if (v != supply_ && like.IsWanted(v)) return true;
  }
  return false;
}

ControllerValues ChannelModel::Settle(const Electrical& electrical, ElectricalModel& model,
                                      const Situation& situation, const Settled& like) {
  const profile::Controller& controller = *bench_.controller;
  if (electrical.supply_v < controller.min_supply_v) return {};
  const bool comparable = like.values != nullptr && !like.values->empty();
  ControllerValues values =
      comparable ? *like.values : ControllerValues(names_.size(), Prediction::Value(0));
  values.Set(supply_, Prediction::Value(electrical.supply_v));

  const double scale = standin::ReferenceScale(controller, electrical.reference_v);
  const bool same_scale =
      comparable &&
      std::abs(scale - standin::ReferenceScale(controller, like.electrical->reference_v)) < kSameV;
  const std::vector<char> moved = MovedInputs(electrical, comparable ? like.electrical : nullptr);
  const auto same = [&](int input) { return input < 0 || Nth(moved, input) == 0; };
  const bool recalibrates = std::ranges::any_of(model.faults(), [](const profile::Fault* fault) {
    return fault->Is<profile::fault::Calibration>();
  });
  std::vector<std::size_t> played;  // channels
  std::vector<int> played_inputs;
  const auto settle = [&](std::size_t channel, int input, const std::optional<Channel>& settled) {
    if (settled) {
      values.Set(first_channel_ + 2 * channel, settled->value);
      values.Set(first_channel_ + 2 * channel + 1, settled->fault);
    } else if (like.IsWanted(first_channel_ + 2 * channel) ||
               like.IsWanted(first_channel_ + 2 * channel + 1)) {
      played.push_back(channel);
      played_inputs.push_back(input);
    } else if (like.left_out != nullptr) {
      (*like.left_out)[first_channel_ + 2 * channel] = true;
      (*like.left_out)[first_channel_ + 2 * channel + 1] = true;
    }
  };
  for (std::size_t i = 0; i < controller.analog.size(); ++i) {
    const bool as_before =
        same_scale && same(analog_inputs_[i]) &&
        !(recalibrates && IsRecalibrated(controller.analog[i], model.faults()));
    if (as_before || like.LeavesOut(first_channel_ + 2 * i)) continue;
    settle(i, analog_inputs_[i], Analog(i, scale, electrical, model, situation));
  }
  for (std::size_t i = 0; i < controller.frequency.size(); ++i) {
    if (like.LeavesOut(first_channel_ + 2 * (controller.analog.size() + i))) continue;
    const bool as_before =
        comparable && same(frequency_inputs_[i]) && !MovesSensors(model.faults());
    if (as_before) continue;
    settle(controller.analog.size() + i, frequency_inputs_[i],
           Frequency(i, electrical, model, situation));
  }

  const bool same_position =
      comparable && like.same_wheels && watch_.IsSame(electrical, *like.electrical);
  const bool stands_still =
      std::none_of(electrical.reaches.begin(), electrical.reaches.end(), [&](const Reach& reach) {
        return Switches(reach, model, situation) &&
               std::any_of(trigger_inputs_.begin(), trigger_inputs_.end(), [&](int input) {
                 return input >= 0 && Stirs(reach, input, electrical);
               });
      });
  const bool rests = stands_still && situation.engine_rpm() <= 0;
  const double noise_hz = NoiseHz(model.faults());
  if (noise_hz > 0) {
    if (!played.empty()) {
      const ControllerValues& seen =
          watch_.Find(electrical, model, situation, {played_inputs, false});
      TakePlayed(values, seen, played);
    }
    Disturb(noise_hz, values);
    return values;
  }
  if (played.empty()) {
    if (same_position) return values;
    if (!rests && !WantsPosition(like) && !watch_.Knows(electrical, model, situation)) {
      for (std::size_t v = 0; v < first_channel_ && like.left_out != nullptr; ++v) {
        if (v != supply_) (*like.left_out)[v] = true;
      }
      return values;
    }
    SetPosition(values, rests ? ControllerValues(names_.size(), Prediction::Value(0))
                              : watch_.Find(electrical, model, situation, {{}, true}));
    return values;
  }
  // What is played for the channels has the position too, where that is not known.
  const ControllerValues& seen =
      watch_.Find(electrical, model, situation, {played_inputs, !same_position});
  if (!same_position) SetPosition(values, seen);
  TakePlayed(values, seen, played);
  return values;
}

void ChannelModel::TakePlayed(ControllerValues& values, const ControllerValues& seen,
                              std::span<const std::size_t> channels) const {
  for (const std::size_t channel : channels) {
    for (const std::size_t v : {first_channel_ + 2 * channel, first_channel_ + 2 * channel + 1}) {
      values.Set(v, seen[v]);
    }
  }
}

ChannelModel::Channel ChannelModel::AtVolts(const profile::AnalogChannel& config, double volts,
                                            plant::Faults faults) const {
  using standin::ChannelFault;
  const Prediction fallback = Prediction::Value(config.fallback);
  if (volts < config.low_v) return {fallback, FaultValue(ChannelFault::kSignalLow)};
  if (volts > config.high_v) return {fallback, FaultValue(ChannelFault::kSignalHigh)};
  double value = Interpolate(config.value_at_volts, volts);
  for (const profile::Fault* fault : faults) {
    const auto* table = fault->As<profile::fault::Calibration>();
    if (!table || fault->at != config.name) continue;
    value = value * table->gain + table->value;
  }
  return {Prediction::Value(value), FaultValue(ChannelFault::kNone)};
}

std::optional<ChannelModel::Channel> ChannelModel::Analog(std::size_t channel,
                                                          double reference_scale,
                                                          const Electrical& electrical,
                                                          const ElectricalModel& model,
                                                          const Situation& situation) const {
  const profile::AnalogChannel& config = bench_.controller->analog[channel];
  const int input = analog_inputs_[channel];
  if (input < 0) {
    return Channel{Prediction::Value(config.fallback), FaultValue(standin::ChannelFault::kNone)};
  }
  // Coils swing about 0 V: a sample takes the level between their lobes.
  const double off_v = Nth(electrical.input_v, input);
  double low_v = off_v, high_v = off_v;
  for (const Reach& reach : electrical.reaches) {
    if (reach.coil) continue;
    if (Stirs(reach, input, electrical) && Switches(reach, model, situation)) return std::nullopt;
    const double step_v = Nth(reach.on_v, input) - off_v;
    (step_v < 0 ? low_v : high_v) += step_v;
  }
  const double scale = config.ratiometric ? reference_scale : 1;
  const auto at = [&](double volts) { return AtVolts(config, volts * scale, model.faults()); };
  const Channel off = at(off_v);
  if (high_v - low_v < kRestsV) return off;
  // Conducting or not: that is where the wheels came to a stop.
  const Channel low = at(low_v), high = at(high_v);
  return Channel{Around(off.value, Around(low.value, high.value)),
                 Around(off.fault, Around(low.fault, high.fault))};
}

std::optional<ChannelModel::Channel> ChannelModel::Frequency(std::size_t channel,
                                                             const Electrical& electrical,
                                                             const ElectricalModel& model,
                                                             const Situation& situation) const {
  const profile::FrequencyChannel& config = bench_.controller->frequency[channel];
  const int input = frequency_inputs_[channel];
  Source seen{.kind = SourceKind::kPulses};
  int stirred = 0;
  for (const Reach& reach : electrical.reaches) {
    if (input < 0 || !Stirs(reach, input, electrical)) continue;
    if (!Switches(reach, model, situation)) continue;
    const int sensor = reach.device - static_cast<int>(bench_.triggers.size());
    // A wheel's teeth are not even; two at once are not, either.
    if (sensor < 0 || ++stirred > 1) return std::nullopt;
    const double on_v = Nth(reach.on_v, input);
    const double off_v = Nth(electrical.input_v, input);
    if (std::max(on_v, off_v) < config.high_v || std::min(on_v, off_v) > config.low_v) continue;
    seen = model.SourceIn(sensor, situation);
    if (on_v > off_v) seen.low_s = 1 / seen.hz - seen.low_s;
  }
  const Prediction none = FaultValue(standin::ChannelFault::kNone);
  if (seen.hz * config.timeout_ms < 1000) {
    if (config.zero_is_valid) {
      return Channel{Prediction::Value(Interpolate(config.value_at_hz, 0)), none};
    }
    return Channel{Prediction::Value(config.fallback),
                   FaultValue(standin::ChannelFault::kNoSignal)};
  }
  if (!config.value_at_hz.empty()) {
    return Channel{Prediction::Value(Interpolate(config.value_at_hz, seen.hz)), none};
  }
  return Channel{Prediction::Value(Interpolate(config.value_at_low_ms, seen.low_s * 1e3)), none};
}

}  // namespace drycrank::diagnose
