// SPDX-License-Identifier: Apache-2.0
#include "plant/plant.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>
#include <variant>

#include "plant/segments.h"
#include "plant/switch_wave.h"
#include "profile/device_leads.h"
#include "profile/sensors.h"
#include "profile/triggers.h"
#include "types/nth.h"

namespace drycrank::plant {
namespace {

constexpr TimeNs kDenseNs = 20 * kNsPerUs;
constexpr double kReaches = 0.01;       // a coil with less gain than this does not reach an input
constexpr double kLevelChangeV = 1e-3;  // smaller steps of a level are not handed on
constexpr double kLiftV = 0.02;         // a coil's input lifted by more than this is summed densely
constexpr std::size_t kCacheSize = 64;
constexpr int kDense = -2;
constexpr std::uint64_t kNoiseStream = 1000;  // and one up for each trigger

bool IsPulse(const profile::Sensor& sensor) {
  return profile::GivenBy(sensor.model) == profile::Gives::kPulses;
}

double Idle(const profile::Sensor& sensor) {  // a value for the first solve; replaced before use
  return IsPulse(sensor) ? 0.0 : 1.0;
}

}  // namespace

Plant::Plant(const profile::Bench& bench, const scenario::Timeline& timeline, std::uint64_t seed,
             WaveSink& sink)
    : Plant(bench, timeline, seed, sink, std::make_unique<NetworkWiring>(bench)) {}

Plant::Plant(const profile::Bench& bench, const scenario::Timeline& timeline, std::uint64_t seed,
             WaveSink& sink, std::unique_ptr<Wiring> own)
    : Plant(bench, timeline, seed, sink, *own) {
  own_ = std::move(own);
}

Plant::Plant(const profile::Bench& bench, const scenario::Timeline& timeline, std::uint64_t seed,
             WaveSink& sink, Wiring& wiring)
    : bench_(bench),
      timeline_(timeline),
      sink_(sink),
      noise_(seed, 1),
      motion_(CrankAngle::FromDegrees(0, timeline.start_deg())),
      triggers_(WheelsOf(bench)),
      pickup_faults_(bench.triggers.size()),
      advances_(bench.triggers.size()),
      advance_before_deg_(bench.triggers.size()),
      wiring_(wiring) {
  const std::size_t inputs = bench.controller ? bench.controller->inputs.size() : 0;
  for (std::size_t i = 0; i < bench.triggers.size(); ++i) {
    const bool coil = profile::GivenBy(bench.triggers[i].pickup) == profile::Gives::kCoil;
    coil_of_trigger_.push_back(coil ? static_cast<int>(coil_devices_.size()) : -1);
    if (coil) coil_devices_.push_back(static_cast<int>(i));
    values_.push_back(0);
    disturbed_.emplace_back(seed, kNoiseStream + i);
  }
  for (std::size_t i = 0; i < bench.sensors.size(); ++i) {
    values_.push_back(Idle(bench.sensors[i]));
    if (IsPulse(bench.sensors[i])) pulses_.push_back({static_cast<int>(i), {}, {}});
  }
  assert(values_.size() <= on_.size());
  lobes_.assign(coil_devices_.size(), {0, 0, 0, 0, 0});
  lobe_noise_v_.assign(coil_devices_.size(), 0);
  is_fed_.assign(bench.triggers.size(), false);
  pins_.resize(bench.triggers.size());
  pin_waves_.resize(inputs);
  heard_.resize(inputs);
  std::iota(heard_.begin(), heard_.end(), 0);
  level_v_.assign(inputs, std::nan(""));
  input_coil_.assign(inputs, -1);
  cache_.resize(kCacheSize);
  for (Levels& levels : cache_) {
    levels.input_v.resize(inputs);
    levels.gain.resize(inputs * coil_devices_.size());
  }
}

bool Plant::StimuliHold() const {
  for (std::size_t i = 0; i < bench_.stimuli.size(); ++i) {
    if (timeline_.track(static_cast<int>(i)).kind != profile::DriveKind::kHold) return false;
  }
  return true;
}

Source Plant::SourceAt(int sensor, TimeNs t_ns) const {
  const auto value_of = [&](int stimulus) { return timeline_.Value(stimulus, t_ns); };
  return SourceOf(bench_, Nth(bench_.sensors, sensor), value_of, faults_);
}

void Plant::UpdateSensors(TimeNs t_ns) {
  const std::size_t first = bench_.triggers.size();
  for (std::size_t i = 0; i < bench_.sensors.size(); ++i) {
    if (IsPulse(bench_.sensors[i])) continue;  // comes as edges
    values_[first + i] = SourceAt(static_cast<int>(i), t_ns).value;
  }
  if (!stimuli_hold_) return;
  for (Pulse& pulse : pulses_) {
    pulse.source = SourceAt(pulse.sensor, t_ns);
  }
}

void Plant::RestartTriggers(TimeNs t_ns) {
  triggers_.Restart(t_ns, motion_);
  for (std::size_t i = 0; i < bench_.triggers.size(); ++i) {
    if (coil_of_trigger_[i] < 0 && !is_fed_[i]) {
      SetHall(i, triggers_.metal(static_cast<int>(i)));
      sink_.OnEmf(static_cast<int>(i), SwitchWave(on_[i], t_ns));
    }
  }
}

void Plant::HoldOff(int sensor) {
  std::erase_if(pulses_, [sensor](const Pulse& pulse) { return pulse.sensor == sensor; });
}

void Plant::OnStep(TimeNs t_ns) {
  // A drive that goes on from the step before keeps its segment: a sine its phase, a ramp its end.
  // Two drives may begin at one instant: the later one counts.
  if (feed_ == nullptr && motion_track_ != timeline_.track(0)) BeginMotion(t_ns);
  motion_track_ = timeline_.track(0);
  UpdateAdvances(t_ns);
  RestartTriggers(t_ns);
  stimuli_hold_ = StimuliHold();
  UpdateSensors(t_ns);
  cached_ = 0;
  EmitLevels(t_ns);
  FindNext();
}

void Plant::SetFaults(TimeNs t_ns, Faults faults) {
  faults_.assign(faults.begin(), faults.end());
  wiring_.SetFaults(faults_);
  bool moved = false;
  for (std::size_t i = 0; i < bench_.triggers.size(); ++i) {
    triggers_.SetFault(static_cast<int>(i), WheelFaultOf(bench_.triggers[i], faults_));
    const PickupFault now = PickupFaultOf(bench_.triggers[i], faults_);
    const PickupFault& before = pickup_faults_[i];
    moved = moved || now.stuck_deg != before.stuck_deg || now.deg_per_s != before.deg_per_s;
    pickup_faults_[i] = now;
  }
  if (moved) UpdateAdvances(t_ns);
  SetNoise(t_ns);
  RestartTriggers(t_ns);
  UpdateSensors(t_ns);
  cached_ = 0;
  FindCoils(LevelsNow(t_ns));
  StopUnheardCoils(t_ns);
  EmitLevels(t_ns);
  FindNext();
}

const Plant::Levels& Plant::LevelsNow(TimeNs t_ns) {
  if (t_ns >= cache_until_ns_ || cached_ == kCacheSize) {
    cached_ = 0;
    cache_until_ns_ = t_ns + kLevelsKeptNs;
  }
  if (!switched_ && found_ < cached_) return cache_[found_];
  const auto cached = std::span(cache_).first(cached_);
  found_ = AsSize(std::ranges::find(cached, on_, &Levels::on) - cached.begin());
  switched_ = false;
  if (found_ < cached_) return cache_[found_];
  Levels& levels = cache_[cached_++];
  levels.on = on_;
  wiring_.SolveAt(values_, heard_, levels.input_v);
  const std::size_t inputs = levels.input_v.size();
  for (std::size_t c = 0; c < coil_devices_.size(); ++c) {
    wiring_.Transfer(coil_devices_[c], std::span(levels.gain).subspan(c * inputs, inputs));
  }
  return levels;
}

// Which coil reaches which input, under the faults in force.
void Plant::FindCoils(const Levels& levels) {
  const std::size_t inputs = levels.input_v.size();
  any_dense_ = false;
  for (const int input : heard_) {
    const auto i = AsSize(input);
    input_coil_[i] = -1;
    for (std::size_t c = 0; c < coil_devices_.size(); ++c) {
      if (std::abs(levels.gain[c * inputs + i]) < kReaches) continue;
      input_coil_[i] = input_coil_[i] == -1 ? static_cast<int>(c) : kDense;
    }
    any_dense_ = any_dense_ || input_coil_[i] == kDense;
    level_v_[i] = std::nan("");  // hand every level on anew
  }
}

// Where no input hears a coil, and nobody looks at the sensors, wheels in front of coils need not turn.
void Plant::StopUnheardCoils(TimeNs t_ns) {
  if (sink_.WatchesEmf()) return;
  if (std::ranges::any_of(heard_, [this](int input) { return Nth(input_coil_, input) != -1; })) return;
  for (const int trigger : coil_devices_) triggers_.SetFault(trigger, {.fitted = false});
  RestartTriggers(t_ns);
}

void Plant::EmitLevels(TimeNs t_ns) {
  if (heard_.empty()) return;
  const Levels& levels = LevelsNow(t_ns);
  for (const int input : heard_) {
    const double v = Nth(levels.input_v, input);
    if (Nth(input_coil_, input) == kDense) continue;
    if (Nth(input_coil_, input) >= 0) {
      const bool lobe_on = Nth(lobes_, Nth(input_coil_, input)).end_ns > t_ns;
      if (lobe_on && std::abs(v - Nth(level_v_, input)) > kLiftV) {
        Nth(input_coil_, input) = kDense;
        any_dense_ = true;
      }
      if (lobe_on) continue;
    }
    if (std::abs(v - Nth(level_v_, input)) <= kLevelChangeV) continue;
    Nth(level_v_, input) = v;
    sink_.OnWave(input, {t_ns, kNever, v, v, 0});
  }
  if (any_dense_ && next_dense_ns_ == kNever) next_dense_ns_ = t_ns;
}

// `goes_on`: the rest of one that was given already.
void Plant::EmitLobe(int channel, TimeNs t_ns, bool goes_on) {
  const auto& pickup =
      std::get<profile::VariableReluctancePickup>(Nth(bench_.triggers, channel).pickup);
  const int coil = Nth(coil_of_trigger_, channel);
  if (!goes_on && pickup.noise_v > 0) Nth(lobe_noise_v_, coil) = pickup.noise_v * noise_.Gauss();
  EmitCoil(coil, t_ns, Nth(lobes_, coil));
}

void Plant::EmitCoil(int coil, TimeNs t_ns, const Wave& emf) {
  const double more_v = Nth(lobe_noise_v_, coil) + DisturbanceV(coil);
  const bool is_rest = emf.begin_v == 0 && emf.end_v == 0 && emf.peak_v == 0;
  sink_.OnEmf(Nth(coil_devices_, coil), {t_ns, is_rest ? kNever : emf.end_ns, more_v + emf.begin_v,
                                         more_v + emf.end_v, emf.peak_v});
  const Levels& levels = LevelsNow(t_ns);
  const std::size_t inputs = levels.input_v.size();
  for (const int input : heard_) {
    const auto i = AsSize(input);
    if (input_coil_[i] != coil) continue;
    const double gain = levels.gain[AsSize(coil) * inputs + i];
    const double base = levels.input_v[i] + gain * more_v;
    level_v_[i] = levels.input_v[i];  // without the noise: what a switched output lifts it from
    sink_.OnWave(input, {t_ns, is_rest ? kNever : emf.end_ns, base + gain * emf.begin_v,
                         base + gain * emf.end_v, gain * emf.peak_v});
  }
}

double Plant::DenseVolts(const Levels& levels, int input, TimeNs t_ns) const {
  const std::size_t inputs = levels.input_v.size();
  const auto i = AsSize(input);
  double v = levels.input_v[i];
  for (std::size_t c = 0; c < lobes_.size(); ++c) {
    const Wave& emf = lobes_[c];
    if (t_ns < emf.begin_ns || t_ns >= emf.end_ns) continue;
    v += levels.gain[c * inputs + i] * emf.At(t_ns);
  }
  for (std::size_t c = 0; is_disturbed_ && c < lobes_.size(); ++c) {
    v += levels.gain[c * inputs + i] * DisturbanceV(static_cast<int>(c));
  }
  return v;
}

void Plant::EmitDense(TimeNs t_ns) {
  next_dense_ns_ = any_dense_ ? t_ns + kDenseNs : kNever;
  if (!any_dense_) return;
  const Levels& levels = LevelsNow(t_ns);
  for (const int input : heard_) {
    if (Nth(input_coil_, input) != kDense) continue;
    sink_.OnWave(input, {t_ns, t_ns + kDenseNs, DenseVolts(levels, input, t_ns),
                         DenseVolts(levels, input, t_ns + kDenseNs), 0});
  }
}

void Plant::SetSwitch(int device, bool conducting) {
  Nth(values_, device) = conducting ? 1 : 0;
  Nth(on_, device) = conducting;
  switched_ = true;
}

void Plant::SetHall(std::size_t trigger, bool metal) {
  const auto& hall = std::get<profile::HallPickup>(bench_.triggers[trigger].pickup);
  const bool conducting = metal == hall.low_at_tooth;
  const bool other_way = pickup_faults_[trigger].inverted != disturbed_[trigger].on();
  SetSwitch(static_cast<int>(trigger), conducting != other_way);
}

double Plant::CoilStrength(std::size_t trigger) const {
  const PickupFault& fault = pickup_faults_[trigger];
  return fault.inverted ? -fault.strength : fault.strength;
}

void Plant::TakeTrigger() {
  const trigger::TriggerEvent event = triggers_.Take(motion_);
  const auto channel = AsSize(event.channel);
  if (const int coil = coil_of_trigger_[channel]; coil >= 0) {
    const double strength = CoilStrength(channel);
    Nth(lobes_, coil) = {event.t_ns, event.lobe_end_ns, event.lobe_begin_v * strength, 0,
                         event.lobe_peak_v * strength};
    EmitLobe(event.channel, event.t_ns, event.lobe_begin_v != 0);
  } else {
    SetHall(channel, event.metal);
    sink_.OnEmf(event.channel, SwitchWave(on_[channel], event.t_ns));
    EmitLevels(event.t_ns);
  }
}

void Plant::TakePulse(Pulse& pulse) {
  const TimeNs t_ns = pulse.train.next_ns();
  if (!stimuli_hold_) pulse.source = SourceAt(pulse.sensor, t_ns);
  if (!pulse.train.Take(pulse.source.hz, pulse.source.low_s)) return;
  SetSwitch(static_cast<int>(bench_.triggers.size()) + pulse.sensor, pulse.train.low());
  EmitLevels(t_ns);
}

void Plant::FindNext() {
  next_ns_ = std::min({triggers_.Peek().t_ns, motion_break_ns_, next_dense_ns_});
  for (const Pulse& pulse : pulses_) next_ns_ = std::min(next_ns_, pulse.train.next_ns());
  next_ns_ = std::min(next_ns_, NoiseDueNs());
  if (feed_ != nullptr) next_ns_ = std::min(next_ns_, feed_->NextNs());
  next_ns_ = stuck_ns_ == kNever ? std::max(next_ns_, taken_ns_) : kNever;
}

void Plant::TakeEvent() {
  const TimeNs t_ns = taken_ns_ = next_ns_;
  if (!guard_.Admit(t_ns)) {
    stuck_ns_ = t_ns;
    return FindNext();
  }
  if (motion_break_ns_ <= t_ns) {
    BeginMotion(t_ns);
    RestartTriggers(t_ns);
  } else if (triggers_.Peek().t_ns <= t_ns) {
    TakeTrigger();
  } else if (feed_ != nullptr && feed_->NextNs() <= t_ns) {
    TakeFed();
  } else if (next_dense_ns_ <= t_ns) {
    EmitDense(t_ns);
  } else if (NoiseDueNs() <= t_ns) {
    TakeNoise();
  } else {
    for (Pulse& pulse : pulses_) {
      if (pulse.train.next_ns() <= t_ns) {
        TakePulse(pulse);
        break;
      }
    }
  }
  FindNext();
}

void Plant::Sample(TimeNs t_ns, std::span<double> input_v) {
  bool restart = false;
  for (std::size_t i = 0; i < bench_.triggers.size(); ++i) {
    restart = restart || AdvanceIsStepped(i);
  }
  if (restart) {
    UpdateAdvances(t_ns);
    RestartTriggers(t_ns);
    FindNext();
  }
  TellMovingAdvances(t_ns);
  if (!stimuli_hold_) UpdateSensors(t_ns);
  wiring_.Solve(values_, input_v);
  for (std::size_t i = 0; i < pin_waves_.size(); ++i) {
    if (pin_waves_[i]) input_v[i] = pin_waves_[i]->At(t_ns);
  }
}

}  // namespace drycrank::plant
