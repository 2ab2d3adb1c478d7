// SPDX-License-Identifier: Apache-2.0
#include "run/output_wishes.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "output/abilities.h"
#include "plant/sources.h"
#include "profile/fault_relay.h"
#include "profile/sensors.h"
#include "profile/triggers.h"
#include "run/output_rate.h"
#include "types/nth.h"
#include "types/overloaded.h"

namespace drycrank::run {
namespace {

using output::Form;
using output::Trait;
using output::Wish;
using profile::DriveKind;
using profile::OutputChannel;

constexpr int kEngineSpeed = 0;
constexpr double kSamplesATooth = 4;  // two would do for a tone; ours

template <class Each>
void EachDrive(const profile::Scenario& scenario, int stimulus, const Each& each) {
  for (const profile::Step& step : scenario.steps) {
    for (const profile::Drive& drive : step.drives) {
      if (drive.stimulus == stimulus) each(drive);
    }
  }
}

// All values between which a stimulus is driven: its turning points.
std::vector<double> ValuesOf(const profile::Bench& bench, const profile::Scenario& scenario,
                             int stimulus) {
  std::vector<double> values = {Nth(bench.stimuli, stimulus).initial};
  EachDrive(scenario, stimulus, [&](const profile::Drive& drive) {
    for (const auto& point : drive.points) values.push_back(point.second);
    if (drive.kind == DriveKind::kPoints) return;
    values.push_back(drive.to + drive.amplitude);
    values.push_back(drive.to - drive.amplitude);
  });
  return values;
}

// The steepest of a speed's climbs, in a second, where it stands and what it climbs by.
struct Climb {
  double slope = 0, by = 0;
  Place place;
};
Climb SteepestOf(const profile::Bench& bench, const profile::Scenario& scenario, int stimulus) {
  double before = Nth(bench.stimuli, stimulus).initial;
  Climb steepest;
  const auto climb = [&](double to, double over_s, const Place& place) {
    const double by = std::abs(to - std::exchange(before, to));
    if (over_s > 0 && by / over_s > steepest.slope) steepest = {by / over_s, by, place};
  };
  EachDrive(scenario, stimulus, [&](const profile::Drive& drive) {
    double at_s = 0;
    for (const auto& [x_s, value] : drive.points) {
      climb(value, x_s - std::exchange(at_s, x_s), drive.place);
    }
    if (drive.kind != DriveKind::kPoints) climb(drive.to, drive.over_s, drive.place);
  });
  return steepest;
}

bool ComesToAStop(const profile::Drive& drive) {
  const bool points = drive.kind == DriveKind::kPoints;
  return points ? !drive.points.empty() && drive.points.back().second == 0 : drive.to == 0;
}

// `turns`: the crank did so before it.
void AddMotion(const profile::Bench& bench, const profile::Drive& drive, bool turns, Wish& wish) {
  const auto need = [&](Trait trait) { wish.needs.push_back({trait, drive.place}); };
  if (bench.engine.kick_back_deg > 0 && turns && ComesToAStop(drive)) need(Trait::kSwingBack);
  switch (drive.kind) {
    case DriveKind::kHold:
      return;
    case DriveKind::kRamp:
    case DriveKind::kPoints:
      return need(Trait::kRamp);
    case DriveKind::kSine:
      return need(Trait::kSine);
    case DriveKind::kCrank:
      if (bench.engine.compression_ripple > 0) need(Trait::kRipple);
  }
}

bool IsCoil(const profile::Trigger& trigger) {
  return std::holds_alternative<profile::VariableReluctancePickup>(trigger.pickup);
}

// A kind of fault of a device that has no case here does not compile.
void AddFault(const profile::Fault& fault, bool is_coil, Wish& wish) {
  namespace f = profile::fault;
  const auto need = [&](Trait trait) { wish.needs.push_back({trait, fault.place}); };
  profile::VisitInto<profile::Into::kDevice>(
      fault,
      Overloaded{[&](const f::NotFitted&) { need(is_coil ? Trait::kSilent : Trait::kHeld); },
                 [&](const f::WheelOffset&) { need(Trait::kLate); },
                 [&](const f::ToothMissing&) { need(Trait::kTeethGone); },
                 [&](const f::ExtraTooth&) { need(Trait::kTeethAdded); },
                 [&](const f::WheelRunout&) { need(Trait::kRunout); },
                 [&](const f::PickupInverted&) { need(Trait::kInverted); },
                 [&](const f::PickupStrength&) { need(Trait::kStrength); },
                 [&](const f::ElectricalNoise&) { need(Trait::kNoise); },
                 [&](const f::CamStuck&) { need(Trait::kAdvance); },
                 [&](const f::CamSlow&) { need(Trait::kAdvance); },
                 [](const f::SensorOffset&) {},  // in the values of the sensor
                 [](const f::SensorStuck&) {}});
}

double EdgesASecond(const profile::Trigger& trigger, double rpm) {
  const double turns = rpm / 60 / (trigger.shaft == profile::Shaft::kCam ? 2 : 1);
  return turns * 2 * static_cast<double>(trigger.wheel.teeth.size());
}

Wish OfTrigger(const profile::Bench& bench, const profile::Scenario& scenario,
               const OutputChannel& channel) {
  const profile::Trigger& trigger = Nth(bench.triggers, channel.index);
  const std::vector<double> rpm = ValuesOf(bench, scenario, kEngineSpeed);
  const double most_rpm = *std::ranges::max_element(rpm);
  Wish wish{.of = InWords(channel), .place = channel.place, .forms = {}};
  wish.teeth = static_cast<int>(trigger.wheel.teeth.size());
  const Climb steepest = SteepestOf(bench, scenario, kEngineSpeed);
  wish.forms.push_back({.form = Form::kWheel,
                        .least = 0,
                        .most = most_rpm,
                        .slope = steepest.slope,
                        .climb = steepest.by,
                        .slope_at = steepest.place});
  if (const auto* coil = std::get_if<profile::VariableReluctancePickup>(&trigger.pickup)) {
    const double peak_v = coil->peak_v * most_rpm / coil->peak_at_rpm;
    wish.forms.push_back({.form = Form::kEmf,
                          .least = -peak_v,
                          .most = peak_v,
                          .rate_hz = EdgesASecond(trigger, most_rpm)});
  } else {
    wish.forms.push_back({.form = Form::kSwitch,
                          .least = 0,
                          .most = 1,
                          .rate_hz = EdgesASecond(trigger, most_rpm)});
  }
  bool turns = Nth(bench.stimuli, kEngineSpeed).initial > 0;
  EachDrive(scenario, kEngineSpeed, [&](const profile::Drive& drive) {
    AddMotion(bench, drive, turns, wish);
    turns = !ComesToAStop(drive);
  });
  if (trigger.advance_stimulus >= 0) wish.needs.push_back({Trait::kAdvance, channel.place});
  for (const profile::Fault& fault : scenario.faults) {
    if (fault.at == trigger.name) AddFault(fault, IsCoil(trigger), wish);
  }
  return wish;
}

Form FormOf(SourceKind kind) {
  switch (kind) {
    case SourceKind::kResistance:
      return Form::kResistance;
    case SourceKind::kSupplyFraction:
      return Form::kFraction;
    case SourceKind::kVoltage:
      return Form::kVoltage;
    case SourceKind::kPulses:
      return Form::kPulses;
    case SourceKind::kSwitched:
      return Form::kSwitch;
    case SourceKind::kEmf:
      break;
  }
  return Form::kEmf;
}

// What the sensor gives at the turning points of its stimulus, with each fault and without: its curves
// do not turn between them.
Wish OfSensor(const profile::Bench& bench, const profile::Scenario& scenario,
              const OutputChannel& channel) {
  const profile::Sensor& sensor = Nth(bench.sensors, channel.index);
  Wish wish{.of = InWords(channel), .place = channel.place, .forms = {}};
  std::vector<const profile::Fault*> faults = {nullptr};
  for (const profile::Fault& fault : scenario.faults) {
    if (fault.at != sensor.name) continue;
    faults.push_back(&fault);
    if (fault.Is<profile::fault::NotFitted>()) wish.needs.push_back({Trait::kUnplugged, fault.place});
  }
  Wish::Span span;
  bool first = true;
  for (const double value : ValuesOf(bench, scenario, sensor.stimulus)) {
    for (const profile::Fault* const& fault : faults) {
      const auto in_force = std::span(&fault, fault != nullptr ? 1 : 0);
      const auto value_of = [&](int stimulus) {
        return stimulus == sensor.stimulus ? value : Nth(bench.stimuli, stimulus).initial;
      };
      const Source source = plant::SourceOf(bench, sensor, value_of, in_force);
      const double given = source.kind == SourceKind::kPulses ? source.hz : source.value;
      span.form = FormOf(source.kind);
      span.least = first ? given : std::min(span.least, given);
      span.most = first ? given : std::max(span.most, given);
      first = false;
    }
  }
  if (std::holds_alternative<profile::SwitchSensor>(sensor.model)) {
    wish.forms.push_back({.form = Form::kSwitch, .least = 0, .most = 1});
  }
  wish.forms.push_back(span);
  return wish;
}

Wish OfSupply(const profile::Bench& bench, const profile::Scenario& scenario,
              const OutputChannel& channel) {
  const profile::Supply& supply = Nth(bench.supplies, channel.index);
  Wish::Span span{.form = Form::kSupply, .least = supply.voltage_v, .most = supply.voltage_v};
  for (const profile::Fault& fault : scenario.faults) {
    const auto* off = fault.As<profile::fault::SupplyOff>();
    if (off == nullptr || fault.at != supply.name) continue;
    span.least = std::min(span.least, supply.voltage_v + off->volts);
    span.most = std::max(span.most, supply.voltage_v + off->volts);
  }
  return {.of = InWords(channel), .place = channel.place, .forms = {span}};
}

// A fault that comes and goes may do so faster than a relay.
Wish OfFaultRelay(const profile::Scenario& scenario, const OutputChannel& relay) {
  Wish::Span span{.form = Form::kSwitch, .least = 0, .most = 1};
  for (const profile::Fault& fault : scenario.faults) {
    if (!fault.every_s || !fault.for_s || !profile::PutsIn(relay, fault)) continue;
    const double shortest_s = std::min(*fault.for_s, *fault.every_s - *fault.for_s);
    if (shortest_s > 0) span.rate_hz = std::max(span.rate_hz, 1 / shortest_s);
  }
  return {.of = InWords(relay), .place = relay.place, .forms = {span}};
}

Wish WishOf(const profile::Bench& bench, const profile::Scenario& scenario,
            const OutputChannel& channel) {
  if (profile::IsFaultRelay(channel)) return OfFaultRelay(scenario, channel);
  switch (channel.of) {
    case OutputChannel::Of::kTrigger:
      return OfTrigger(bench, scenario, channel);
    case OutputChannel::Of::kSensor:
      return OfSensor(bench, scenario, channel);
    case OutputChannel::Of::kSupply:
      break;
  }
  return OfSupply(bench, scenario, channel);
}

// Samples come at a rate that the bench chose: teeth that pass in fewer than four of them are others
// than those meant.
void AddTooFewSamples(const profile::OutputDevice& device, const Wish& wish, Diagnostics& problems) {
  const auto* sound = std::get_if<profile::out::Sound>(&device.kind);
  if (sound == nullptr) return;
  double teeth_hz = 0;
  for (const Wish::Span& span : wish.forms) teeth_hz = std::max(teeth_hz, span.rate_hz / 2);
  if (kSamplesATooth * teeth_hz <= sound->rate_hz) return;
  problems.push_back(
      {wish.place,
       fmt::format("{}: {:.0f} teeth pass in a second at the scenario's highest speed, and {} samples "
                   "do not carry them",
                   wish.of, teeth_hz, sound->rate_hz),
       fmt::format("a rate_hz of {:.0f} or more carries them; or drive the engine slower",
                   std::ceil(kSamplesATooth * teeth_hz))});
}

// Of a supply that is driven: it gives so much more.
bool IsDrivenSupply(const profile::Bench& bench, const profile::Fault& fault) {
  if (!fault.Is<profile::fault::SupplyOff>()) return false;
  return std::ranges::any_of(bench.drives, [&](const profile::OutputDevice& device) {
    return std::ranges::any_of(ChannelsOf(device), [&](const OutputChannel* channel) {
      return channel->of == OutputChannel::Of::kSupply && channel->name == fault.at;
    });
  });
}

Diagnostic NotFitted(const profile::Fault& fault, const std::vector<const OutputChannel*>& relays) {
  if (relays.empty()) {
    return {fault.place,
            fmt::format("fault '{}' is one of the harness, which lies behind the outputs", fault.name),
            "make it by hand in the harness, and take it out of the scenario"};
  }
  std::vector<std::string> fitted;
  for (const OutputChannel* relay : relays) fitted.push_back("'" + relay->name + "'");
  return {fault.place,
          fmt::format("no relay is fitted for fault '{}' ({})", fault.name, profile::RelayNameOf(fault)),
          fmt::format("fitted: {}; or make it by hand in the harness, and take it out of the scenario",
                      fmt::join(fitted, ", "))};
}

}  // namespace

std::pair<double, double> DrivenBetween(const profile::Bench& bench,
                                        const profile::Scenario& scenario, int stimulus) {
  const auto [least, most] = std::ranges::minmax(ValuesOf(bench, scenario, stimulus));
  return {least, most};
}

std::vector<Wish> WishesOf(const profile::Bench& bench, const profile::Scenario& scenario,
                           const profile::OutputDevice& device) {
  std::vector<Wish> wishes;
  for (const OutputChannel* channel : ChannelsOf(device)) {
    wishes.push_back(WishOf(bench, scenario, *channel));
  }
  return wishes;
}

Diagnostics OutputProblems(const profile::Bench& bench, const profile::Scenario& scenario) {
  Diagnostics problems;
  for (const profile::OutputDevice& device : bench.drives) {
    for (const Wish& wish : WishesOf(bench, scenario, device)) {
      Diagnostics more =
          output::WhyNot(output::AbilityOf(device.kind), wish, output::AllKinds());
      std::ranges::move(more, std::back_inserter(problems));
      AddTooFewSamples(device, wish, problems);
    }
    std::ranges::move(RateProblems(scenario, device), std::back_inserter(problems));
  }
  if (scenario.capture) {
    problems.push_back({scenario.capture->place, "a capture is played in the place of crank and cams",
                        "outputs make the bench's own wheels: take the capture out"});
  }
  const std::vector<const OutputChannel*> relays = profile::FaultRelays(bench);
  for (const profile::Fault& fault : scenario.faults) {
    profile::VisitInto<profile::Into::kHarness>(fault, [&](const auto&) {
      const auto puts_in = [&](const OutputChannel* relay) { return profile::PutsIn(*relay, fault); };
      if (IsDrivenSupply(bench, fault) || std::ranges::any_of(relays, puts_in)) return;
      problems.push_back(NotFitted(fault, relays));
    });
  }
  return problems;
}

}  // namespace drycrank::run
