// SPDX-License-Identifier: Apache-2.0
//
// The wheels that have been set in the controller against those that are built. First the edges
// themselves: if all come where they are expected, it does not matter in which words. If not, the
// fewest settings are sought that, taken from what is built, would bring the edges where they are
// expected; those are what was told wrong.
#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <optional>
#include <variant>

#include "check/edge_places.h"
#include "profile/triggers.h"
#include "proofread/built_edges.h"
#include "proofread/told.h"
#include "proofread/wheel_words.h"
#include "proofread/words.h"
#include "standin/pattern.h"
#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::proofread {
namespace {

using profile::ActiveEdge;
using profile::Conditioning;
using profile::Trigger;
using profile::TriggerChannel;

// Settings of a channel, in the order in which one is preferred to another as the wrong one.
enum Setting : unsigned { kEdge = 1, kOffset = 2, kWheel = 4, kShaft = 8, kAll = 15 };

// One channel with the trigger that is wired to its terminal.
struct Pair {
  const profile::Bench& bench;
  const TriggerChannel& told;
  const Trigger& built;
  bool reversed = false;

  double cycle_deg() const { return bench.engine.cycle_deg(); }
  bool is_primary() const {
    const profile::Controller& k = *bench.controller;
    return &Nth(k.triggers, k.decoder.primary) == &told;
  }
  Place ToldAt(std::string_view key) const { return told.written.Of(key, told.place); }
  std::string BuiltAt(std::string_view key) const { return At(built.written.Of(key, built.place)); }
};

TriggerChannel WithBuilt(const Pair& pair, unsigned settings) {
  const TriggerChannel right = ShouldBeTold(pair.built, pair.reversed);
  TriggerChannel channel = pair.told;
  if (settings & kEdge) {
    channel.edge = right.edge;
    channel.point = right.point;
  }
  if (settings & kOffset) channel.offset_deg = right.offset_deg;
  if (settings & kWheel) channel.wheel = right.wheel;
  if (settings & kShaft) channel.shaft = right.shaft;
  return channel;
}

// Over a cycle; where one of the two is on a rotor, over a turn of it.
bool EdgesAgree(const Pair& pair, const TriggerChannel& channel) {
  const bool told_rotor = channel.shaft == profile::Shaft::kRotor;
  const double told_deg = told_rotor ? profile::kRotorTurnDeg : pair.cycle_deg();
  const double built_deg = check::WheelCycleDeg(pair.built, pair.bench.engine);
  const double cycle_deg = std::max(told_deg, built_deg);
  return SameEdges(
      OverCycle(standin::ActiveEdgesDeg(channel, told_deg), told_deg, cycle_deg),
      OverCycle(BuiltEdgesDeg(pair.built, pair.bench.engine, channel.edge, pair.reversed),
                built_deg, cycle_deg),
      cycle_deg);
}

// The fewest settings to be taken from what is built; 0: none explains it.
unsigned WrongSettings(const Pair& pair) {
  for (int count = 1; count <= 4; ++count) {
    for (unsigned settings = 1; settings <= kAll; ++settings) {
      if (std::popcount(settings) != count) continue;
      if (EdgesAgree(pair, WithBuilt(pair, settings))) return settings;
    }
  }
  return 0;
}

std::string EdgeFacts(const Pair& pair, const TriggerChannel& right) {
  if (const auto* hall = std::get_if<profile::HallPickup>(&pair.built.pickup)) {
    return fmt::format("the output is {} while metal is in front, so its {} edge is a tooth's {}",
                       hall->low_at_tooth ? "low" : "high", Word(right.edge), Word(right.point));
  }
  const auto& coil = std::get<profile::VariableReluctancePickup>(pair.built.pickup);
  return fmt::format(
      "the coil's plus lead {} is wired to the input's {}, so its {} edge is the "
      "tooth's {}",
      coil.plus, pair.reversed ? "minus" : "plus", Word(right.edge), Word(right.point));
}

Diagnostic WrongEdge(const Pair& pair) {
  const TriggerChannel right = ShouldBeTold(pair.built, pair.reversed);
  const char* key = pair.told.edge == right.edge ? "point" : "edge";
  return {pair.ToldAt(pair.told.written.Has(key) ? key : "edge"),
          fmt::format("trigger channel '{}' is told that the {} edge is a tooth's {}; {} ({})",
                      pair.told.name, Word(pair.told.edge), Word(pair.told.point),
                      EdgeFacts(pair, right), pair.BuiltAt("pickup")),
          fmt::format("set the {} edge for the tooth's {}, or correct the pickup", Word(right.edge),
                      Word(right.point))};
}

Diagnostic WrongOffset(const Pair& pair) {
  const double period_deg = profile::ShaftTurnDeg(pair.built.shaft, pair.cycle_deg());
  const double early_deg = WrapSignedDeg(pair.told.offset_deg - pair.built.offset_deg, period_deg);
  return {
      pair.ToldAt("offset_deg"),
      fmt::format("trigger channel '{}' is told an offset of {:g} deg; the wheel stands at {:g} "
                  "({}): {} {:g} deg too {}",
                  pair.told.name, pair.told.offset_deg, pair.built.offset_deg,
                  pair.BuiltAt("offset_deg"),
                  pair.is_primary() ? "every spark and injection comes" : "its edges come",
                  std::abs(early_deg), early_deg > 0 ? "early" : "late"),
      fmt::format("set {:g} in the controller, or correct the trigger", pair.built.offset_deg)};
}

Diagnostic WrongWheel(const Pair& pair) {
  return {pair.ToldAt("wheel"),
          fmt::format("trigger channel '{}' is told a wheel of {}; the one built has {} ({})",
                      pair.told.name, WheelWords(pair.told.wheel), WheelWords(pair.built.wheel),
                      pair.BuiltAt("wheel")),
          "set the wheel that is built in the controller, or correct the trigger"};
}

Diagnostic WrongShaft(const Pair& pair) {
  return {pair.ToldAt("shaft"),
          fmt::format(
              "trigger channel '{}' is told that its wheel sits on the {}; it sits on the {} "
              "({})",
              pair.told.name, Word(pair.told.shaft), Word(pair.built.shaft), pair.BuiltAt("shaft")),
          fmt::format("set {} in the controller, or correct the trigger", Word(pair.built.shaft))};
}

void CompareEdges(const Pair& pair, Compared& out) {
  if (EdgesAgree(pair, pair.told)) return;
  const unsigned wrong = WrongSettings(pair);
  if (wrong == 0) {
    out.disagreements.push_back(
        {pair.told.place,
         fmt::format(
             "trigger channel '{}': the edges of trigger '{}' ({}) come at other angles than "
             "expected, and neither its wheel, shaft, offset nor edge alone explains it: a "
             "coil's voltage falls through zero at the centre of a narrow tooth only",
             pair.told.name, pair.built.name, At(pair.built.place)),
         "measure where the edge lies, and set the offset so that tooth 1 agrees"});
    return;
  }
  if (wrong & kWheel) out.disagreements.push_back(WrongWheel(pair));
  if (wrong & kShaft) out.disagreements.push_back(WrongShaft(pair));
  if (wrong & kEdge) out.disagreements.push_back(WrongEdge(pair));
  if (wrong & kOffset) out.disagreements.push_back(WrongOffset(pair));
}

// False: what the input makes of the signal is not comparable any further.
bool CompareConditioning(const Pair& pair, Compared& out) {
  const TriggerChannel right = ShouldBeTold(pair.built, pair.reversed);
  if (pair.told.conditioning == right.conditioning) return true;
  const bool coil = right.conditioning == Conditioning::kZeroCrossing;
  out.disagreements.push_back(
      {pair.ToldAt("conditioning"),
       fmt::format("trigger channel '{}' is told to look for {}; the pickup is a {} ({}): {}",
                   pair.told.name, coil ? "two thresholds" : "a crossing of zero",
                   coil ? "coil" : "switching output", pair.BuiltAt("pickup"),
                   coil ? "its edge would lie at another angle at each speed"
                        : "its voltage never falls through zero"),
       fmt::format("set conditioning: {}", coil ? "zero_crossing" : "threshold")});
  return false;
}

void CompareLevels(const Pair& pair, const Pins::Levels& levels, Compared& out) {
  if (pair.told.conditioning != Conditioning::kThreshold) return;
  const bool low = levels.conducting_v <= pair.told.low_v;
  const bool high = levels.open_v >= pair.told.high_v;
  if (low && high) return;
  out.disagreements.push_back(
      {pair.ToldAt(high ? "low_v" : "high_v"),
       fmt::format(
           "trigger channel '{}' is told that {} {:g} V is {}; at {} the signal of '{}' goes "
           "from {:.2f} V to {:.2f} V ({}), and no edge is seen",
           pair.told.name, high ? "below" : "above", high ? pair.told.low_v : pair.told.high_v,
           high ? "low" : "high", pair.told.terminal, pair.built.name, levels.conducting_v,
           levels.open_v, pair.BuiltAt("pickup")),
       "set thresholds between the two, or give the input its pull-up"});
}

// A cam that can be turned must stay where the controller looks for its edges.
void CompareWindow(const Pair& pair, Compared& out) {
  if (pair.built.advance_stimulus < 0 || pair.is_primary()) return;
  const profile::Stimulus& advance = Nth(pair.bench.stimuli, pair.built.advance_stimulus);
  const double farthest_deg = std::max(std::abs(advance.min), std::abs(advance.max));
  if (farthest_deg <= pair.told.window_deg) return;
  out.disagreements.push_back(
      {pair.ToldAt("window_deg"),
       fmt::format(
           "trigger channel '{}' is told to expect each edge within {:g} deg; this cam can be "
           "turned by {:g} deg ({})",
           pair.told.name, pair.told.window_deg, farthest_deg, At(advance.place)),
       fmt::format("set a window of at least {:g} deg", farthest_deg)});
}

int TriggerAt(const profile::Bench& bench, const Pins& pins, const std::string& terminal) {
  for (std::size_t i = 0; i < bench.triggers.size(); ++i) {
    const int input = pins.InputOfTrigger(static_cast<int>(i));
    if (input >= 0 && Nth(bench.controller->inputs, input).terminal == terminal) {
      return static_cast<int>(i);
    }
  }
  return -1;
}

void CompareChannel(const profile::Bench& bench, Pins& pins, const TriggerChannel& told,
                    Compared& out) {
  const int trigger = TriggerAt(bench, pins, told.terminal);
  if (trigger < 0) {
    out.not_compared.push_back(
        {told.place,
         fmt::format("trigger channel '{}': no pickup is wired to {}", told.name, told.terminal),
         "draw its wires"});
    return;
  }
  const int input = pins.InputOfTrigger(trigger);
  const Trigger& built = Nth(bench.triggers, trigger);
  const bool coil = std::holds_alternative<profile::VariableReluctancePickup>(built.pickup);
  const Pair pair{bench, told, built, coil && pins.LeadsReversed(trigger, input)};
  if (!CompareConditioning(pair, out)) return;
  if (!coil) CompareLevels(pair, pins.LevelsOfTrigger(trigger, input), out);
  CompareEdges(pair, out);
  CompareWindow(pair, out);
  if (told.shaft != profile::Shaft::kRotor || LooksTheSameEachThird(told.wheel)) return;
  out.facts.push_back(
      fmt::format("trigger channel '{}': its wheel sits on the rotor and does not look the same "
                  "each third of a "
                  "turn: no position is read from it",
                  told.name));
}

}  // namespace

void CompareTriggers(const profile::Bench& bench, Pins& pins, Compared& out) {
  for (const TriggerChannel& told : bench.controller->triggers) {
    CompareChannel(bench, pins, told, out);
  }
  for (std::size_t i = 0; i < bench.triggers.size(); ++i) {
    const Trigger& built = bench.triggers[i];
    const int input = pins.InputOfTrigger(static_cast<int>(i));
    const auto& channels = bench.controller->triggers;
    const bool told = input >= 0 && std::any_of(channels.begin(), channels.end(), [&](auto& c) {
                        return c.terminal == Nth(bench.controller->inputs, input).terminal;
                      });
    if (told) continue;
    out.not_compared.push_back(
        {built.place,
         fmt::format("trigger '{}': {}", built.name,
                     input < 0 ? "no wire leads from its signal to an input of the controller"
                               : "no trigger channel of the controller listens there"),
         "draw the wire, or write what has been set in the controller"});
  }
}

}  // namespace drycrank::proofread
