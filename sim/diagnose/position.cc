// SPDX-License-Identifier: Apache-2.0
#include "diagnose/position.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "engine/motion.h"
#include "standin/channel.h"
#include "standin/controller.h"
#include "trigger/trigger_stream.h"
#include "types/random.h"

namespace drycrank::diagnose {
namespace {

constexpr TimeNs kWatchedNs = 3 * kNsPerS;
constexpr TimeNs kStepNs = 10 * kNsPerMs;
constexpr int kLooks = 5;
constexpr TimeNs kLookEveryNs = 230 * kNsPerMs;  // no whole part of a turn
constexpr std::uint64_t kSeeds = 2;
constexpr double kSpeedRpm = 20, kCamDeg = 1.5;  // steady within
constexpr double kReaches = 0.01;                // a coil with less gain does not reach an input
constexpr double kKeyV = 0.02, kKeyGain = 0.02;

int Rounded(double value, double step) {
  return static_cast<int>(std::lround(std::clamp(value / step, -1e6, 1e6)));
}

int TriggerIndex(const profile::Bench& bench, const std::string& name) {
  return profile::IndexOf(bench.triggers, name);
}

trigger::ChannelFault FaultOf(const profile::Trigger& trigger,
                              std::span<const profile::Fault> faults) {
  trigger::ChannelFault channel;
  channel.fitted = trigger.fitted;
  for (const profile::Fault& fault : faults) {
    if (fault.at != trigger.name) continue;
    if (fault.Is<profile::fault::NotFitted>()) channel.fitted = false;
    if (const auto* late = fault.As<profile::fault::WheelOffset>()) channel.late_deg += late->deg;
    if (const auto* gone = fault.As<profile::fault::ToothMissing>()) {
      channel.missing_teeth.push_back(gone->tooth);
    }
  }
  return channel;
}

// The bench's wheels turning, and what they make of each trigger input's voltage.
class Waves {
 public:
  Waves(const profile::Bench& bench, const Electrical& electrical, const ElectricalModel& model,
        const Situation& situation, std::span<const profile::Fault> faults,
        const std::vector<int>& inputs, std::uint64_t seed)
      : bench_(bench),
        electrical_(electrical),
        inputs_(inputs),
        noise_(seed, 1),
        stream_(bench.triggers, bench.engine),
        on_(electrical.sources.size(), false) {
    motion_.Begin(0, {.kind = engine::SegmentKind::kHold, .speed_rpm = situation.engine_rpm()});
    for (std::size_t i = 0; i < bench.triggers.size(); ++i) {
      const int channel = static_cast<int>(i);
      stream_.SetFault(channel, FaultOf(bench.triggers[i], faults));
      const int stimulus = bench.triggers[i].advance_stimulus;
      if (stimulus < 0) continue;
      stream_.SetAdvance(channel,
                         {0, situation.stimuli[static_cast<std::size_t>(stimulus)], 0, kNever});
    }
    stream_.Restart(0, motion_);
    for (std::size_t i = 0; i < bench.triggers.size(); ++i) SetMetal(i, stream_.metal(int(i)));
    for (std::size_t s = bench.triggers.size(); s < electrical.sources.size(); ++s) {
      const int sensor = electrical.sources[s].device - static_cast<int>(bench.triggers.size());
      pulses_.push_back({s, model.PulsesOf(sensor, situation), kNever});
      if (pulses_.back().pulses.hz > 0 && Reaches(electrical.sources[s])) {
        pulses_.back().next_ns = 0;
      }
    }
  }

  TimeNs NextNs() const {
    TimeNs next_ns = stream_.Peek().t_ns;
    for (const Pulse& pulse : pulses_) next_ns = std::min(next_ns, pulse.next_ns);
    return next_ns;
  }

  void Begin(standin::Controller& controller) { EmitLevels(0, controller); }

  void Take(standin::Controller& controller) {
    const TimeNs t_ns = NextNs();
    for (Pulse& pulse : pulses_) {
      if (pulse.next_ns != t_ns) continue;
      const bool low = !on_[pulse.source];
      on_[pulse.source] = low;
      const double low_s = pulse.pulses.low_s, high_s = 1 / pulse.pulses.hz - low_s;
      pulse.next_ns = t_ns + std::max<TimeNs>(1, FromSeconds(low ? low_s : high_s));
      EmitLevels(t_ns, controller);
      return;
    }
    const trigger::TriggerEvent event = stream_.Take(motion_);
    const auto channel = static_cast<std::size_t>(event.channel);
    if (electrical_.sources[channel].coil) {
      EmitLobe(event, controller);
    } else {
      SetMetal(channel, event.metal);
      EmitLevels(t_ns, controller);
    }
  }

 private:
  struct Pulse {
    std::size_t source;
    Pulses pulses;
    TimeNs next_ns;
  };

  bool Reaches(const Source& source) const {
    return std::any_of(inputs_.begin(), inputs_.end(), [&](int input) {
      const auto i = static_cast<std::size_t>(input);
      return std::abs(source.on_v[i] - electrical_.input_v[i]) > kKeyV;
    });
  }

  void SetMetal(std::size_t channel, bool metal) {
    const auto* hall = std::get_if<profile::HallPickup>(&bench_.triggers[channel].pickup);
    if (hall != nullptr) on_[channel] = metal == hall->low_at_tooth;
  }

  double Level(int input) const {
    const auto i = static_cast<std::size_t>(input);
    double v = electrical_.input_v[i];
    for (std::size_t s = 0; s < electrical_.sources.size(); ++s) {
      const Source& source = electrical_.sources[s];
      if (!source.coil && on_[s]) v += source.on_v[i] - electrical_.input_v[i];
    }
    return v;
  }

  bool HasCoil(int input) const {
    return std::any_of(
        electrical_.sources.begin(), electrical_.sources.end(), [&](const Source& source) {
          return source.coil && std::abs(source.gain[static_cast<std::size_t>(input)]) >= kReaches;
        });
  }

  void EmitLevels(TimeNs t_ns, standin::Controller& controller) {
    for (const int input : inputs_) {
      if (t_ns > 0 && HasCoil(input)) continue;  // the lobes carry the level
      const double v = Level(input);
      controller.OnWave(input, {t_ns, kNever, v, v, 0});
    }
  }

  void EmitLobe(const trigger::TriggerEvent& event, standin::Controller& controller) {
    const Source& source = electrical_.sources[static_cast<std::size_t>(event.channel)];
    const auto& pickup = std::get<profile::VariableReluctancePickup>(
        bench_.triggers[static_cast<std::size_t>(event.channel)].pickup);
    const double noise_v = pickup.noise_v > 0 ? pickup.noise_v * noise_.Gauss() : 0;
    for (const int input : inputs_) {
      const double gain = source.gain[static_cast<std::size_t>(input)];
      if (std::abs(gain) < kReaches) continue;
      const double v = Level(input) + gain * noise_v;
      controller.OnWave(input, {event.t_ns, event.lobe_peak_v == 0 ? kNever : event.lobe_end_ns, v,
                                v, gain * event.lobe_peak_v});
    }
  }

  const profile::Bench& bench_;
  const Electrical& electrical_;
  const std::vector<int>& inputs_;
  Random noise_;
  engine::Motion motion_;
  trigger::TriggerStream stream_;
  std::vector<bool> on_;  // per source
  std::vector<Pulse> pulses_;
};

}  // namespace

PositionModel::PositionModel(const profile::Bench& bench) : bench_(bench) {
  std::set<int> inputs;
  for (const profile::TriggerChannel& channel : bench.controller->triggers) {
    inputs.insert(standin::InputIndex(*bench.controller, channel.terminal));
  }
  inputs.erase(-1);
  inputs_.assign(inputs.begin(), inputs.end());
}

bool PositionModel::IsSame(const Electrical& a, const Electrical& b) const {
  const double least_v = bench_.controller->min_supply_v;
  return (a.supply_v >= least_v) == (b.supply_v >= least_v) &&
         std::all_of(inputs_.begin(), inputs_.end(),
                     [&](int input) { return SameAt(static_cast<std::size_t>(input), a, b); });
}

std::vector<int> PositionModel::Key(const Electrical& electrical, const ElectricalModel& model,
                                    const Situation& situation,
                                    std::span<const profile::Fault> faults) const {
  std::vector<int> key = {Rounded(situation.engine_rpm(), 0.1),
                          electrical.supply_v >= bench_.controller->min_supply_v ? 1 : 0};
  for (const profile::Trigger& trigger : bench_.triggers) {
    const int stimulus = trigger.advance_stimulus;
    if (stimulus < 0) continue;
    key.push_back(Rounded(situation.stimuli[static_cast<std::size_t>(stimulus)], 0.01));
  }
  for (const int input : inputs_) {
    const auto i = static_cast<std::size_t>(input);
    key.push_back(Rounded(electrical.input_v[i], kKeyV));
    for (const Source& source : electrical.sources) {
      const double step_v = source.on_v[i] - electrical.input_v[i];
      key.push_back(source.coil ? Rounded(source.gain[i], kKeyGain) : Rounded(step_v, kKeyV));
      if (source.coil || key.back() == 0) continue;
      const int sensor = source.device - static_cast<int>(bench_.triggers.size());
      if (sensor >= 0) key.push_back(Rounded(model.PulsesOf(sensor, situation).hz, 0.01));
    }
  }
  for (const profile::Fault& fault : faults) {
    const int trigger = TriggerIndex(bench_, fault.at);
    if (trigger < 0) continue;
    const auto* late = fault.As<profile::fault::WheelOffset>();
    const auto* gone = fault.As<profile::fault::ToothMissing>();
    key.insert(key.end(), {static_cast<int>(fault.kind.index()), trigger,
                           Rounded(late ? late->deg : 0, 0.01), gone ? gone->tooth : 0});
  }
  return key;
}

const Position& PositionModel::Find(const Electrical& electrical, const ElectricalModel& model,
                                    const Situation& situation,
                                    std::span<const profile::Fault> faults) {
  std::vector<int> key = Key(electrical, model, situation, faults);
  const auto known = known_.find(key);
  if (known != known_.end()) return known->second;
  return known_.emplace(std::move(key), Simulate(electrical, model, situation, faults))
      .first->second;
}

// Looks at the controller five times in the last second.
void PositionModel::Watch(const Electrical& electrical, const ElectricalModel& model,
                          const Situation& situation, std::span<const profile::Fault> faults,
                          std::uint64_t seed, std::vector<Position>& looks) const {
  standin::Controller controller(bench_);
  Waves waves(bench_, electrical, model, situation, faults, inputs_, seed);
  waves.Begin(controller);
  int looked = 0;
  for (TimeNs t_ns = 0; t_ns <= kWatchedNs; t_ns += kStepNs) {
    while (waves.NextNs() <= t_ns) waves.Take(controller);
    controller.OnSample(t_ns, electrical.input_v, electrical.supply_v, electrical.reference_v);
    controller.TakeEdges();
    controller.TakeOutputs();
    if (t_ns < kWatchedNs - (kLooks - 1 - looked) * kLookEveryNs) continue;
    ++looked;
    Position position;
    position.speed_rpm = controller.Value(controller.ValueIndex("engine_speed"));
    position.sync_state = static_cast<int>(controller.sync_state());
    position.sync_reason = static_cast<int>(controller.sync_reason());
    for (const int cam : bench_.controller->decoder.cams) {
      const std::string& name = bench_.controller->triggers[static_cast<std::size_t>(cam)].name;
      position.cam_deg.push_back(controller.Value(controller.ValueIndex("cam_angle." + name)));
    }
    looks.push_back(std::move(position));
  }
}

// The last look, and what of it differs from the others.
Position PositionModel::Simulate(const Electrical& electrical, const ElectricalModel& model,
                                 const Situation& situation,
                                 std::span<const profile::Fault> faults) const {
  std::vector<Position> looks;
  for (std::uint64_t seed = 1; seed <= kSeeds; ++seed) {
    Watch(electrical, model, situation, faults, seed, looks);
  }
  Position last = looks.back();
  const auto differs = [&](const auto& value_of, double tolerance) {
    return std::any_of(looks.begin(), looks.end(), [&](const Position& look) {
      return std::abs(value_of(look) - value_of(last)) > tolerance;
    });
  };
  if (differs([](const Position& p) { return p.speed_rpm; }, kSpeedRpm)) {
    last.unsteady.push_back("engine_speed");
  }
  if (differs([](const Position& p) { return p.sync_state; }, 0)) {
    last.unsteady.push_back("sync_state");
  }
  if (differs([](const Position& p) { return p.sync_reason; }, 0)) {
    last.unsteady.push_back("sync_reason");
  }
  for (std::size_t c = 0; c < last.cam_deg.size(); ++c) {
    if (!differs([c](const Position& p) { return p.cam_deg[c]; }, kCamDeg)) continue;
    const int cam = bench_.controller->decoder.cams[c];
    last.unsteady.push_back("cam_angle." +
                            bench_.controller->triggers[static_cast<std::size_t>(cam)].name);
  }
  return last;
}

}  // namespace drycrank::diagnose
