// SPDX-License-Identifier: Apache-2.0
#include "diagnose/watch.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <set>
#include <string_view>

#include "diagnose/held_wiring.h"
#include "diagnose/watch_key.h"
#include "plant/plant.h"
#include "profile/scenario_file.h"
#include "profile/sensors.h"
#include "profile/told_controller.h"
#include "profile/triggers.h"
#include "scenario/timeline.h"
#include "standin/controller.h"
#include "standin/conversion.h"
#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

constexpr TimeNs kSettlesNs = kNsPerS, kWatchedNs = 2 * kNsPerS;
// Of wheels at a held speed each cycle is as the one before: so many tell as much as more would.
constexpr double kSettlesCycles = 8, kWatchedCycles = 12;
constexpr TimeNs kShortestNs = kNsPerS / 5;  // some samples of each value
constexpr std::uint64_t kLooks = 2;
// Of channels: a tooth frequency may be a whole part of the sampling's, so that a look sees one
// phase.
constexpr std::uint64_t kChannelLooks = 3;
constexpr std::uint64_t kToldLooks = 6;
constexpr double kStepSigmas = 2.5;  // a value that moves by less is at rest
constexpr double kFeltV = 0.5e-3, kFeltGain = 1e-3;  // far below what an input resolves
constexpr int kNoPosition = -1'000'000;              // in a key
constexpr int kNoEdges = -1'000'001;                 // likewise

// Every stimulus held from time 0 on.
scenario::Timeline Held(const profile::Bench& bench, const profile::Scenario& empty,
                        const Situation& situation) {
  scenario::Timeline timeline(bench, empty);
  for (std::size_t i = 0; i < situation.stimuli.size(); ++i) {
    timeline.Override(static_cast<int>(i), situation.stimuli[i], 0, 0);
  }
  return timeline;
}

struct Course {
  std::vector<double> values;

  void Take(double value) { values.push_back(value); }
  // At rest when it moves by no more than a step; else between which ends, and where mostly: the
  // middle one of all values, and the share of those within a step of it.
  Prediction Summary(double step) const {
    const auto [least, most] = std::ranges::minmax(values);
    if (most - least <= step) return Prediction::Value(values.back());
    std::vector<double> sorted = values;
    std::sort(sorted.begin(), sorted.end());
    const double usual = sorted[sorted.size() / 2];
    const auto near =
        std::ranges::count_if(values, [&](double v) { return std::abs(v - usual) <= step; });
    return Prediction::Restless(sorted.front(), sorted.back(), usual,
                                static_cast<double>(near) / static_cast<double>(values.size()));
  }
};

// A plant at the controller stand-in's terminals, as run/runner.h has it, without a bus.
class Player : private plant::WaveSink {
 public:
  Player(const profile::Bench& bench, const scenario::Timeline& timeline, HeldWiring& wiring,
         plant::Faults faults, std::span<const int> converted, std::span<const int> heard,
         std::span<const int> not_felt, std::uint64_t look)
      : controller_(bench),
        plant_(bench, timeline, look, *this, wiring),
        sample_ns_(FromMs(bench.controller->sample_ms)),
        sampled_ns_(static_cast<TimeNs>(look - 1) * sample_ns_ * 37 / 100),
        input_v_(bench.controller->inputs.size()),
        reference_v_(bench.controller->references.size()) {
    for (const profile::Fault* fault : faults) {
      const auto* table = fault->As<profile::fault::Calibration>();
      if (table) controller_.SetCalibration(fault->at, *table, true);
    }
    controller_.ConvertOnly(converted);
    plant_.HearOnly(heard);
    for (const int sensor : not_felt) plant_.HoldOff(sensor);
    plant_.OnStep(0);
    plant_.SetFaults(0, faults);
  }

  TimeNs sampled_ns() const { return sampled_ns_; }
  double Value(std::size_t index) const { return controller_.Value(static_cast<int>(index)); }

  void PlayToNextSample() {
    sampled_ns_ += sample_ns_;
    while (plant_.NextEventNs() <= sampled_ns_) plant_.TakeEvent();
    plant_.Sample(sampled_ns_, input_v_);
    for (std::size_t i = 0; i < reference_v_.size(); ++i) {
      reference_v_[i] = plant_.ReferenceV(static_cast<int>(i));
    }
    controller_.Advance(sampled_ns_);
    controller_.OnSample(sampled_ns_, input_v_, plant_.SupplyV(), reference_v_);
    controller_.TakeEdges();
    controller_.TakeOutputs();
  }

 private:
  void OnWave(int input, const Wave& wave) override { controller_.OnWave(input, wave); }
  bool WatchesEmf() const override { return false; }

  standin::Controller controller_;
  plant::Plant plant_;
  TimeNs sample_ns_, sampled_ns_;
  std::vector<double> input_v_, reference_v_;
};

// Counts only grow: no step of theirs is restless.
std::vector<double> StepsOf(const profile::Controller& controller) {
  std::vector<double> steps;
  for (const std::string& name : standin::ControllerValueNames(controller)) {
    steps.push_back(IsCount(name)      ? std::numeric_limits<double>::infinity()
                    : IsDiscrete(name) ? 0.5
                                       : kStepSigmas * ControllerSigma(controller, name));
  }
  return steps;
}

// Does it do something else in each cycle?
bool DependsOnTime(const profile::Fault* fault) {
  return fault->Is<profile::fault::CamSlow>() || fault->Is<profile::fault::ElectricalNoise>() ||
         fault->every_s.has_value();
}

// How long so many cycles take.
TimeNs Lasting(const profile::Engine& engine, double rpm, double cycles, TimeNs longest_ns) {
  if (rpm <= 0) return longest_ns;
  const double cycle_ns = engine.cycle_deg() / (6.0 * rpm) * 1e9;
  return std::clamp(static_cast<TimeNs>(cycles * cycle_ns), kShortestNs, longest_ns);
}

// Of wheels told wrong, or a sensor the other way round, it depends on where the crank began what
// the decoder takes the position for.
bool DependsOnBegin(const profile::Fault* fault) {
  if (fault->Is<profile::fault::PickupInverted>()) return true;
  const std::string_view setting = profile::SettingOf(*fault);
  return setting == "offset_deg" || setting == "edge" || setting == "wheel";
}

// The bench as the controller was told it, begun with the crank elsewhere: all wheels turned back
// by so many degrees, and what is told of them with them.
profile::Bench ToldFrom(const profile::Bench& bench, plant::Faults faults, double begin_deg) {
  profile::Bench told = bench;
  for (const profile::Fault* fault : faults) profile::Tell(*fault, *told.controller);
  const auto turn = [&](auto& wheel) {
    const double cycle_deg = bench.engine.cycle_deg();
    const double whole_deg = std::max(cycle_deg, profile::ShaftTurnDeg(wheel.shaft, cycle_deg));
    wheel.offset_deg = WrapDeg(wheel.offset_deg - begin_deg, whole_deg);
  };
  for (profile::Trigger& trigger : told.triggers) turn(trigger);
  for (profile::TriggerChannel& channel : told.controller->triggers) turn(channel);
  return told;
}

}  // namespace

Watch::Watch(const profile::Bench& bench)
    : bench_(bench),
      names_(standin::ControllerValueNames(*bench.controller)),
      steps_(StepsOf(*bench.controller)) {
  std::set<int> inputs;
  thresholds_.resize(bench.controller->inputs.size());
  for (const profile::TriggerChannel& channel : bench.controller->triggers) {
    const int input = standin::InputIndex(*bench.controller, channel.terminal);
    inputs.insert(input);
    if (input < 0 || channel.conditioning != profile::Conditioning::kThreshold) continue;
    Nth(thresholds_, input) = &channel;
  }
  inputs.erase(-1);
  speed_is_sensed_ = std::ranges::any_of(
      bench.sensors, [](const profile::Sensor& sensor) { return sensor.stimulus == 0; });
  trigger_inputs_.assign(inputs.begin(), inputs.end());
  // The channels' values come last: each its value and its fault.
  std::vector<int> of_channels;
  const auto add = [&](const auto& channel) {
    of_channels.insert(of_channels.end(), 2,
                       standin::InputIndex(*bench.controller, channel.terminal));
  };
  for (const profile::AnalogChannel& channel : bench.controller->analog) add(channel);
  for (const profile::FrequencyChannel& channel : bench.controller->frequency) {
    add(channel);
    frequency_inputs_.push_back(of_channels.back());
  }
  value_inputs_.assign(names_.size() - of_channels.size(), -1);
  value_inputs_.insert(value_inputs_.end(), of_channels.begin(), of_channels.end());
}

bool Watch::IsSame(const Electrical& a, const Electrical& b) const {
  const double least_v = bench_.controller->min_supply_v;
  return (a.supply_v >= least_v) == (b.supply_v >= least_v) &&
         std::all_of(trigger_inputs_.begin(), trigger_inputs_.end(),
                     [&](int input) { return SameAt(input, a, b); });
}

// A comparator sees on which side of its thresholds two levels are, and not how far: one size of a
// fault is as good as another. False: a coil, or more than one output, reaches this input.
bool Watch::AddByThresholds(int input, const Electrical& electrical, std::vector<int>& key) const {
  const auto i = static_cast<std::size_t>(input);
  const profile::TriggerChannel* channel = thresholds_[i];
  if (channel == nullptr) return false;
  if (HasNoEdges(*channel, input, electrical)) {
    key.push_back(kNoEdges);
    return true;
  }
  int switching = 0, device = -1, on = 0;
  for (const Reach& reach : electrical.reaches) {
    if (reach.coil && Rounded(reach.gain[i], kKeyGain) != 0) return false;
    if (reach.coil || Rounded(reach.on_v[i] - electrical.input_v[i], kKeyV) == 0) continue;
    ++switching;
    device = reach.device;
    on = SideOf(*channel, reach.on_v[i]);
  }
  if (switching > 1 || device >= static_cast<int>(bench_.triggers.size())) return false;
  key.insert(key.end(), {-1000 - device, SideOf(*channel, electrical.input_v[i]), on});
  return true;
}

// All that the answer depends on, rounded to what a controller tells apart.
std::vector<int> Watch::Key(const Electrical& electrical, const ElectricalModel& model,
                            const Situation& situation, const Asked& asked) const {
  std::vector<int> key = {Rounded(situation.engine_rpm(), 0.1),
                          electrical.supply_v >= bench_.controller->min_supply_v ? 1 : 0};
  for (const profile::Trigger& trigger : bench_.triggers) {
    const int stimulus = trigger.advance_stimulus;
    if (stimulus < 0) continue;
    key.push_back(Rounded(Nth(situation.stimuli, stimulus), 0.01));
  }
  const auto add = [&](int input) {
    key.push_back(Rounded(Nth(electrical.input_v, input), kKeyV));
    for (const Reach& reach : electrical.reaches) {
      const double step_v = Nth(reach.on_v, input) - Nth(electrical.input_v, input);
      key.push_back(reach.coil ? Rounded(Nth(reach.gain, input), kKeyGain)
                               : Rounded(step_v, kKeyV));
      if (reach.coil || key.back() == 0) continue;
      const int sensor = reach.device - static_cast<int>(bench_.triggers.size());
      if (sensor >= 0) key.push_back(Rounded(model.SourceIn(sensor, situation).hz, 0.01));
    }
  };
  if (!asked.position) key.push_back(kNoPosition);
  for (const int input : trigger_inputs_) {
    if (asked.position && !AddByThresholds(input, electrical, key)) add(input);
  }
  for (const int input : asked.inputs) {
    key.push_back(-1 - input);
    add(input);
  }
  for (const profile::Fault* fault : model.faults()) {
    AddFault(*fault, bench_, !asked.inputs.empty(), key);
  }
  return key;
}

const ControllerValues& Watch::Find(const Electrical& electrical, ElectricalModel& model,
                                    const Situation& situation, const Asked& asked) {
  std::vector<int> key = Key(electrical, model, situation, asked);
  const auto known = known_.find(key);
  if (known != known_.end()) return known->second;
  return known_.emplace(std::move(key), Play(electrical, model, situation, asked)).first->second;
}

// Pulse sensors that reach none of these inputs.
std::vector<int> Watch::NotFelt(const Electrical& electrical, std::span<const int> inputs) const {
  std::vector<int> sensors;
  for (const Reach& reach : electrical.reaches) {
    const int sensor = reach.device - static_cast<int>(bench_.triggers.size());
    const auto felt = [&](int input) { return IsFelt(reach, electrical, input); };
    if (sensor >= 0 && std::ranges::none_of(inputs, felt)) sensors.push_back(sensor);
  }
  return sensors;
}

// Do the wheels' pickups alone make edges there?
bool Watch::IsOfWheelsAlone(const Electrical& electrical, std::span<const int> not_felt) const {
  const auto sensors = std::ranges::count_if(electrical.reaches, [&](const Reach& reach) {
    return reach.device >= static_cast<int>(bench_.triggers.size());
  });
  return static_cast<std::size_t>(sensors) == not_felt.size();
}

// Does any wheel's pickup move what is sampled at these inputs, or what is heard there? A sample is
// taken between the lobes of a coil.
bool Watch::FeelsWheels(const Electrical& electrical, std::span<const int> inputs) const {
  const auto felt_at = [&](const Reach& reach, int input) {
    if (!reach.coil)
      return std::abs(Nth(reach.on_v, input) - Nth(electrical.input_v, input)) > kFeltV;
    return std::ranges::count(frequency_inputs_, input) > 0 &&
           std::abs(Nth(reach.gain, input)) > kFeltGain;
  };
  return std::ranges::any_of(electrical.reaches, [&](const Reach& reach) {
    if (reach.device >= static_cast<int>(bench_.triggers.size())) return false;
    return std::ranges::any_of(inputs, [&](int input) { return felt_at(reach, input); });
  });
}

// The values in question.
std::vector<std::size_t> Watch::Wanted(const Asked& asked) const {
  std::vector<std::size_t> values;
  for (std::size_t v = 0; v < value_inputs_.size(); ++v) {
    const int input = value_inputs_[v];
    const bool wanted = input < 0 ? asked.position : std::ranges::count(asked.inputs, input) > 0;
    if (wanted) values.push_back(v);
  }
  return values;
}

// Each look has another noise, and samples at another phase of the crank.
ControllerValues Watch::Play(const Electrical& electrical, ElectricalModel& model,
                             const Situation& situation, const Asked& asked) const {
  std::vector<int> inputs, heard;
  for (const int input : trigger_inputs_) {
    const profile::TriggerChannel* compares = input < 0 ? nullptr : Nth(thresholds_, input);
    const bool dead = compares != nullptr && HasNoEdges(*compares, input, electrical);
    if (asked.position && !dead) inputs.push_back(input);
  }
  heard = inputs;
  for (const int input : asked.inputs) {
    if (std::ranges::count(inputs, input) > 0) continue;
    inputs.push_back(input);
    if (std::ranges::count(frequency_inputs_, input) > 0) heard.push_back(input);
  }
  // A wheel that nobody feels need not turn.
  Situation held = situation;
  if (!asked.position && !speed_is_sensed_ && !FeelsWheels(electrical, inputs)) held.stimuli[0] = 0;
  const profile::Scenario empty;
  const scenario::Timeline timeline = Held(bench_, empty, held);
  const std::vector<int> not_felt = NotFelt(electrical, inputs);
  const std::vector<std::size_t> wanted = Wanted(asked);
  const bool by_begin = std::ranges::any_of(model.faults(), DependsOnBegin);
  const std::uint64_t looks = by_begin ? kToldLooks : asked.inputs.empty() ? kLooks : kChannelLooks;
  const bool cyclic = asked.inputs.empty() && IsOfWheelsAlone(electrical, not_felt) &&
                      std::ranges::none_of(model.faults(), DependsOnTime);
  const double rpm = cyclic ? held.engine_rpm() : 0;
  const TimeNs settled_ns = Lasting(bench_.engine, rpm, kSettlesCycles, kSettlesNs);
  const TimeNs end_ns = settled_ns + Lasting(bench_.engine, rpm, kWatchedCycles, kWatchedNs);
  HeldWiring wiring(bench_, model);
  std::vector<Course> seen(wanted.size());
  for (std::uint64_t look = 1; look <= looks; ++look) {
    const double begin_deg = bench_.engine.cycle_deg() * static_cast<double>(look - 1) / kToldLooks;
    const std::optional<profile::Bench> own =
        by_begin ? std::optional(ToldFrom(bench_, model.faults(), begin_deg)) : std::nullopt;
    Player player(own ? *own : bench_, timeline, wiring, model.faults(), asked.inputs, heard,
                  not_felt, look);
    while (player.sampled_ns() < settled_ns) player.PlayToNextSample();
    while (player.sampled_ns() < end_ns) {
      player.PlayToNextSample();
      for (std::size_t i = 0; i < seen.size(); ++i) seen[i].Take(player.Value(wanted[i]));
    }
  }
  ControllerValues values(names_.size(), Prediction::Value(0));
  for (std::size_t i = 0; i < seen.size(); ++i) {
    values.Set(wanted[i], seen[i].Summary(steps_[wanted[i]]));
  }
  return values;
}

}  // namespace drycrank::diagnose
