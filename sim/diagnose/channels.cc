// SPDX-License-Identifier: Apache-2.0
#include "diagnose/channels.h"

#include <algorithm>
#include <cmath>

#include "standin/channel.h"
#include "standin/controller.h"

namespace drycrank::diagnose {
namespace {

constexpr double kStirsV = 0.1;  // a source that moves an input by less is not felt

// What fraction of a turn of its shaft a Hall pickup conducts.
double ConductingShare(const profile::Trigger& trigger, const profile::HallPickup& hall) {
  double metal_deg = 0;
  for (const profile::Tooth& tooth : trigger.wheel.teeth) {
    metal_deg += tooth.end_deg - tooth.begin_deg;
  }
  return hall.low_at_tooth ? metal_deg / 360 : 1 - metal_deg / 360;
}

bool IsRecalibrated(const profile::AnalogChannel& channel, std::span<const profile::Fault> faults) {
  return std::any_of(faults.begin(), faults.end(), [&](const profile::Fault& fault) {
    return fault.Is<profile::fault::Calibration>() && fault.at == channel.name;
  });
}

bool MovesSensors(std::span<const profile::Fault> faults) {
  return std::any_of(faults.begin(), faults.end(), [](const profile::Fault& fault) {
    return fault.Is<profile::fault::SensorOffset>();
  });
}

}  // namespace

ChannelModel::ChannelModel(const profile::Bench& bench)
    : bench_(bench), names_(standin::ControllerValueNames(*bench.controller)) {
  const profile::Controller& controller = *bench.controller;
  first_channel_ = names_.size() - 2 * (controller.analog.size() + controller.frequency.size());
  for (const auto& channel : controller.analog) {
    analog_inputs_.push_back(standin::InputIndex(controller, channel.terminal));
  }
  for (const auto& channel : controller.frequency) {
    frequency_inputs_.push_back(standin::InputIndex(controller, channel.terminal));
  }
}

ControllerValues ChannelModel::Settle(const Electrical& electrical, const ElectricalModel& model,
                                      const Position& position, const Situation& situation,
                                      std::span<const profile::Fault> faults,
                                      const Settled& like) const {
  const profile::Controller& controller = *bench_.controller;
  if (electrical.supply_v < controller.min_supply_v) return {};
  const bool comparable = like.values != nullptr && !like.values->empty();
  ControllerValues values = comparable ? *like.values : ControllerValues(names_.size(), 0);
  const auto set = [&](std::string_view name, double value) {
    const auto at =
        std::find(names_.begin(), names_.begin() + std::ptrdiff_t(first_channel_), name);
    values[static_cast<std::size_t>(at - names_.begin())] = value;
  };
  // Counts stay 0: they are not compared.
  set("engine_speed", position.speed_rpm);
  set("sync_state", position.sync_state);
  set("sync_reason", position.sync_reason);
  set("supply_voltage", electrical.supply_v);
  for (std::size_t i = 0; i < position.cam_deg.size(); ++i) {
    const auto cam = static_cast<std::size_t>(controller.decoder.cams[i]);
    set("cam_angle." + controller.triggers[cam].name, position.cam_deg[i]);
  }
  for (const std::string& name : position.unsteady) set(name, kAnything);

  const double scale = standin::ReferenceScale(controller, electrical.reference_v);
  const bool same_scale =
      comparable &&
      std::abs(scale - standin::ReferenceScale(controller, like.electrical->reference_v)) < kSameV;
  const auto settle = [&](std::size_t channel, const Channel& settled) {
    values[first_channel_ + 2 * channel] = settled.value;
    values[first_channel_ + 2 * channel + 1] = settled.fault;
  };
  const auto same = [&](int input) {
    return input < 0 || SameAt(static_cast<std::size_t>(input), electrical, *like.electrical);
  };
  for (std::size_t i = 0; i < controller.analog.size(); ++i) {
    if (same_scale && same(analog_inputs_[i]) && !IsRecalibrated(controller.analog[i], faults)) {
      continue;
    }
    settle(i, Analog(i, scale, electrical, model, situation, faults));
  }
  for (std::size_t i = 0; i < controller.frequency.size(); ++i) {
    if (comparable && same(frequency_inputs_[i]) && !MovesSensors(faults)) continue;
    settle(controller.analog.size() + i, Frequency(i, electrical, model, situation));
  }
  return values;
}

ChannelModel::Channel ChannelModel::AtVolts(const profile::AnalogChannel& config, double volts,
                                            std::span<const profile::Fault> faults) const {
  using standin::ChannelFault;
  if (volts < config.low_v) return {config.fallback, double(ChannelFault::kSignalLow)};
  if (volts > config.high_v) return {config.fallback, double(ChannelFault::kSignalHigh)};
  double value = Interpolate(config.value_at_volts, volts);
  for (const profile::Fault& fault : faults) {
    const auto* table = fault.As<profile::fault::Calibration>();
    if (!table || fault.at != config.name) continue;
    value = value * table->gain + table->value;
  }
  return {value, 0};
}

// A source that switches faster than a range fault needs to be believed leaves the fault at none,
// and the value wherever the last sample fell.
ChannelModel::Channel ChannelModel::Analog(std::size_t channel, double reference_scale,
                                           const Electrical& electrical,
                                           const ElectricalModel& model, const Situation& situation,
                                           std::span<const profile::Fault> faults) const {
  const profile::AnalogChannel& config = bench_.controller->analog[channel];
  if (analog_inputs_[channel] < 0) return {config.fallback, 0};
  const auto input = static_cast<std::size_t>(analog_inputs_[channel]);
  const double scale = config.ratiometric ? reference_scale : 1;
  const Channel off = AtVolts(config, electrical.input_v[input] * scale, faults);
  for (const Source& source : electrical.sources) {
    if (source.coil || std::abs(source.on_v[input] - electrical.input_v[input]) < kStirsV) continue;
    const double hz = PulsesOf(source, model, situation).hz;
    const Channel on = AtVolts(config, source.on_v[input] * scale, faults);
    if (hz <= 0 || (on.fault != 0 && on.fault == off.fault)) continue;
    const bool believed = hz * config.fault_delay_ms < 1000 && (on.fault != 0 || off.fault != 0);
    return {kAnything, believed ? kAnything : 0};
  }
  return off;
}

Pulses ChannelModel::PulsesOf(const Source& source, const ElectricalModel& model,
                              const Situation& situation) const {
  const auto triggers = bench_.triggers.size();
  const auto device = static_cast<std::size_t>(source.device);
  if (device >= triggers) return model.PulsesOf(static_cast<int>(device - triggers), situation);
  const profile::Trigger& trigger = bench_.triggers[device];
  const bool half_speed = trigger.shaft == profile::Shaft::kCam && bench_.engine.strokes == 4;
  const double hz = situation.engine_rpm() / (half_speed ? 120 : 60) *
                    static_cast<double>(trigger.wheel.teeth.size());
  const auto& hall = std::get<profile::HallPickup>(trigger.pickup);
  return {hz, hz > 0 ? ConductingShare(trigger, hall) / hz : 0};
}

Pulses ChannelModel::SeenBy(std::size_t channel, const Electrical& electrical,
                            const ElectricalModel& model, const Situation& situation) const {
  const profile::FrequencyChannel& config = bench_.controller->frequency[channel];
  if (frequency_inputs_[channel] < 0) return {};
  const auto input = static_cast<std::size_t>(frequency_inputs_[channel]);
  const double off_v = electrical.input_v[input];
  for (const Source& source : electrical.sources) {
    if (source.coil) continue;
    const double on_v = source.on_v[input];
    if (std::max(on_v, off_v) < config.high_v || std::min(on_v, off_v) > config.low_v) continue;
    Pulses pulses = PulsesOf(source, model, situation);
    if (on_v > off_v && pulses.hz > 0) pulses.low_s = 1 / pulses.hz - pulses.low_s;
    return pulses;
  }
  return {};
}

ChannelModel::Channel ChannelModel::Frequency(std::size_t channel, const Electrical& electrical,
                                              const ElectricalModel& model,
                                              const Situation& situation) const {
  const profile::FrequencyChannel& config = bench_.controller->frequency[channel];
  const Pulses seen = SeenBy(channel, electrical, model, situation);
  if (seen.hz * config.timeout_ms < 1000) {
    if (config.zero_is_valid) return {Interpolate(config.value_at_hz, 0), 0};
    return {config.fallback, double(standin::ChannelFault::kNoSignal)};
  }
  if (!config.value_at_hz.empty()) {
    return {Interpolate(config.value_at_hz, seen.hz), 0};
  }
  return {Interpolate(config.value_at_low_ms, seen.low_s * 1e3), 0};
}

}  // namespace drycrank::diagnose
