// SPDX-License-Identifier: Apache-2.0
#include "capture/signal_plan.h"

#include <fmt/format.h>

#include <algorithm>

#include "capture/holes.h"
#include "capture/read_capture.h"
#include "capture/sampling.h"
#include "check/edge_places.h"
#include "profile/triggers.h"
#include "types/nth.h"
#include "yaml/reader.h"

namespace drycrank::capture {
namespace {

constexpr double kLogicHighV = 5;
constexpr double kAboveV = 1;   // the threshold, where that is higher
constexpr double kOverArm = 2;  // a coil's level, in what arms the input

CaptureLevels LevelsOf(const profile::Bench& bench, const profile::PlayedCapture& played) {
  ChannelMap map = played.map.empty() ? ChannelMap{} : ReadMap(played.map, bench);
  if (map.problems.empty()) return ReadLevels(played.file, bench, std::move(map));
  CaptureLevels refused;
  refused.problems = std::move(map.problems);
  return refused;
}

bool IsCoil(const profile::Trigger& trigger) {
  return std::holds_alternative<profile::VariableReluctancePickup>(trigger.pickup);
}

class Planner {
 public:
  Planner(const profile::Bench& bench, const profile::PlayedCapture& played)
      : bench_(bench), played_(played) {}

  SignalPlan Plan(const CaptureLevels& levels) {
    if (!levels.problems.empty()) return Refused(levels.problems);
    out_.file = played_.file;
    out_.hints = levels.hints;
    out_.by_change = levels.info.by_change;
    TakeStretch(levels);
    for (const ChannelLevels& channel : levels.channels) {
      if (channel.about.role == Role::kTrigger) TakeSignal(channel);
    }
    if (out_.signals.empty() && out_.problems.empty()) SayNoTrigger();
    return std::move(out_);
  }

 private:
  SignalPlan Refused(const Diagnostics& problems) {
    out_.problems = problems;
    return std::move(out_);
  }

  void Complain(const Place& place, std::string what, std::string remedy) {
    out_.problems.push_back({place, std::move(what), std::move(remedy)});
  }

  void SayNoTrigger() {
    Complain({played_.file, 0, 0}, "no trigger of the bench is in this capture",
             fmt::format("say what its columns are with 'map'; the bench has {}",
                         fmt::join(yaml::NamesOf(bench_.triggers), ", ")));
  }

  void TakeStretch(const CaptureLevels& levels) {
    out_.begin_ns = levels.from_ns + played_.from_s * 1e9;
    out_.end_ns = levels.to_ns;
    if (played_.to_s) out_.end_ns = std::min(out_.end_ns, levels.from_ns + *played_.to_s * 1e9);
    if (const auto hole = HoleWithin(played_.file, levels, out_.begin_ns, out_.end_ns))
      out_.problems.push_back(*hole);
    if (levels.repeats.count > 0 && levels.repeats.t_ns < out_.end_ns)
      out_.left_out = RepeatsInWords(levels.repeats);
    if (out_.begin_ns < out_.end_ns) return;
    Complain(played_.place,
             fmt::format("it is played from {:g} s on, and is {:.3f} s long", played_.from_s,
                         (levels.to_ns - levels.from_ns) / 1e9),
             "write a smaller from_s");
  }

  Place PlaceOf(const ChannelLevels& channel) const {
    return channel.about.place.file.empty() ? Place{played_.file, 0, 0} : channel.about.place;
  }

  void TakeSignal(const ChannelLevels& channel) {
    const int trigger = channel.about.trigger;
    const auto same = [trigger](const PlayedSignal& signal) { return signal.trigger == trigger; };
    const std::string name = Nth(bench_.triggers, trigger).name;
    if (std::ranges::any_of(out_.signals, same)) {
      return Complain(PlaceOf(channel), fmt::format("a second channel is '{}'", name),
                      "one channel for each trigger of the bench");
    }
    PlayedSignal signal;
    signal.trigger = trigger;
    signal.is_coil = IsCoil(Nth(bench_.triggers, trigger));
    signal.levels = channel;
    FindInputs(signal);
    if (signal.inputs.empty()) {
      return Complain(PlaceOf(signal.levels),
                      fmt::format("no trigger input of the controller is wired to '{}'", name),
                      "leave the channel out of the map, or draw its wires in the bench");
    }
    ChooseKind(signal);
    out_.signals.push_back(std::move(signal));
  }

  void FindInputs(PlayedSignal& signal) {
    const profile::Controller& controller = *bench_.controller;
    for (const profile::TriggerChannel& channel : controller.triggers) {
      if (check::TriggerAt(bench_, channel) != signal.trigger) continue;
      const auto at =
          std::ranges::find(controller.inputs, channel.terminal, &profile::InputCircuit::terminal);
      if (at == controller.inputs.end()) continue;
      signal.inputs.push_back(static_cast<int>(at - controller.inputs.begin()));
      const bool crosses = channel.conditioning == profile::Conditioning::kZeroCrossing;
      signal.arm_v = crosses ? channel.arm_v : 0;
      signal.high_v =
          crosses ? kOverArm * channel.arm_v : std::max(kLogicHighV, channel.high_v + kAboveV);
      signal.low_v = crosses ? -signal.high_v : std::min(0.0, channel.low_v - kAboveV);
    }
  }

  void ChooseKind(PlayedSignal& signal) const {
    const EdgeRule& rule = signal.levels.rule;
    const bool at_pins = played_.at == profile::PlayedAt::kController;
    const bool has_sunk = std::holds_alternative<StepRule>(rule);
    signal.as_volts = !signal.levels.is_logic && (signal.is_coil || (at_pins && !has_sunk));
    if (at_pins || signal.is_coil || signal.as_volts) return;
    signal.low_v = 0;
    signal.high_v = 1;
  }

  const profile::Bench& bench_;
  const profile::PlayedCapture& played_;
  SignalPlan out_;
};

}  // namespace

SignalPlan PlanOf(const profile::Bench& bench, const profile::PlayedCapture& played) {
  return Planner(bench, played).Plan(LevelsOf(bench, played));
}

Diagnostics ProblemsOf(const profile::Bench& bench, const profile::PlayedCapture& played) {
  const CaptureLevels levels = LevelsOf(bench, played);
  const SignalPlan plan = Planner(bench, played).Plan(levels);
  if (!plan.problems.empty()) return plan.problems;
  const ReadResult read = ReadEdges(played.file, levels);
  if (!read.problems.empty()) return read.problems;
  const Sampling sampling = SamplingOf(played.file, read);
  return sampling.problem ? Diagnostics{*sampling.problem} : Diagnostics{};
}

}  // namespace drycrank::capture
