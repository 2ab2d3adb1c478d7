// SPDX-License-Identifier: Apache-2.0
#include "run/output_feed.h"

#include <algorithm>
#include <cassert>

#include "output/abilities.h"
#include "plant/sources.h"
#include "profile/fault_relay.h"
#include "profile/sensors.h"
#include "profile/triggers.h"
#include "run/output_wishes.h"
#include "types/nth.h"

namespace drycrank::run {
namespace {

using output::Form;
using output::WheelState;
using Of = profile::OutputChannel::Of;

// Of a sensor that is not there: a coil induces nothing, an output transistor does not conduct.
WheelState::Pickup PickupWithout(const profile::Trigger& trigger) {
  return std::holds_alternative<profile::HallPickup>(trigger.pickup) ? WheelState::Pickup::kOff
                                                                     : WheelState::Pickup::kSilent;
}

WheelState StateOf(const profile::Trigger& trigger, plant::Faults faults, double advance_deg) {
  const trigger::ChannelFault wheel = plant::WheelFaultOf(trigger, faults);
  WheelState state{.advance_deg = advance_deg,
                   .late_deg = wheel.late_deg,
                   .inverted = plant::PickupFaultOf(trigger, faults).inverted};
  if (!wheel.fitted) state.pickup = PickupWithout(trigger);
  for (const int tooth : wheel.missing_teeth) state.gone.set(AsSize(tooth - 1));
  return state;
}

bool IsThere(const profile::Sensor& sensor, plant::Faults faults) {
  return sensor.fitted && std::ranges::none_of(faults, [&](const profile::Fault* fault) {
           return fault->at == sensor.name && fault->Is<profile::fault::NotFitted>();
         });
}

}  // namespace

OutputFeed::OutputFeed(const profile::Bench& bench, const profile::Scenario& scenario,
                       const profile::OutputDevice& device, output::Handover& handover)
    : bench_(bench),
      scenario_(scenario),
      handover_(handover),
      timeline_(bench, scenario),
      advance_deg_(bench.triggers.size()) {
  const output::KindAbility kind = output::AbilityOf(device.kind);
  const std::vector<output::Wish> wishes = WishesOf(bench, scenario, device);
  const std::vector<const profile::OutputChannel*> channels = ChannelsOf(device);
  for (std::size_t i = 0; i < channels.size(); ++i) {
    const output::Ability* ability = output::Meets(kind.abilities, wishes[i]);
    assert(ability != nullptr);
    channels_.push_back({.at = channels[i], .form = ability->form});
    for (const profile::Fault& fault : scenario.faults) {
      if (profile::PutsIn(*channels[i], fault)) channels_.back().puts_in.push_back(&fault);
    }
  }
  in_force_.reserve(scenario.faults.size());
}

bool OutputFeed::IsOf(const Channel& channel, int trigger, Form form) const {
  return channel.at->of == Of::kTrigger && !profile::IsFaultRelay(*channel.at) &&
         channel.form == form && (trigger < 0 || channel.at->index == trigger);
}

void OutputFeed::OnStep(std::size_t step, TimeNs t_ns) {
  timeline_.BeginStep(step, t_ns);
  if (step > 0) return;
  GiveRelays(t_ns);
  for (Channel& channel : channels_) {
    if (channel.at->of == Of::kSupply) GiveSupply(channel, t_ns);
    if (IsOf(channel, -1, Form::kWheel)) GiveWheel(channel, t_ns);
  }
}

void OutputFeed::OnFault(const std::string& name, bool in_force, TimeNs t_ns) {
  const int at = profile::IndexOf(scenario_.faults, name);
  if (at < 0) return;
  const profile::Fault* fault = &Nth(scenario_.faults, at);
  std::erase(in_force_, fault);
  if (in_force) in_force_.push_back(fault);
  GiveRelays(t_ns);
  for (Channel& channel : channels_) {
    if (IsOf(channel, -1, Form::kWheel)) GiveWheel(channel, t_ns);
    if (channel.at->of == Of::kSupply) GiveSupply(channel, t_ns);
    if (IsOf(channel, -1, Form::kSwitch)) GiveSwitch(channel, t_ns);
  }
}

void OutputFeed::OnDrive(int stimulus, double value, double over_s, TimeNs t_ns) {
  timeline_.Override(stimulus, value, over_s, t_ns);
}
void OutputFeed::OnCrank(double rpm, TimeNs t_ns) { timeline_.Crank(rpm, t_ns); }

void OutputFeed::GiveAnew(TimeNs t_ns) {
  for (Channel& channel : channels_) {
    channel.given = false;
    if (channel.at->of == Of::kSupply) GiveSupply(channel, t_ns);
    if (IsOf(channel, -1, Form::kWheel)) GiveWheel(channel, t_ns);
    if (IsOf(channel, -1, Form::kSwitch)) GiveSwitch(channel, t_ns);
  }
  if (motion_) OnMotion(*motion_);
  OnSample(t_ns);
}

void OutputFeed::OnMotion(const CrankMotion& motion) {
  motion_ = motion;
  const auto turns = [&](const Channel& channel) { return IsOf(channel, -1, Form::kWheel); };
  if (std::ranges::any_of(channels_, turns)) {
    handover_.Put({motion.begin_ns, output::kAllChannels, motion});
  }
}

void OutputFeed::OnEmf(int trigger, const Wave& emf) {
  for (Channel& channel : channels_) {
    if (IsOf(channel, trigger, Form::kEmf)) handover_.Put({emf.begin_ns, NumberOf(channel), emf});
    if (!IsOf(channel, trigger, Form::kSwitch)) continue;
    channel.conducts = emf.begin_v != 0;
    GiveSwitch(channel, emf.begin_ns);
  }
}

void OutputFeed::OnAdvance(int trigger, double deg, TimeNs t_ns) {
  Nth(advance_deg_, trigger) = deg;
  for (Channel& channel : channels_) {
    if (!IsOf(channel, trigger, Form::kWheel)) continue;
    WheelState now = channel.wheel;
    now.advance_deg = deg;
    Give(channel, channel.wheel, now, t_ns);
  }
}

void OutputFeed::OnSample(TimeNs t_ns) {
  for (Channel& channel : channels_) {
    if (channel.at->of == Of::kSensor) GiveSensor(channel, t_ns);
  }
}

void OutputFeed::GiveWheel(Channel& channel, TimeNs t_ns) {
  const profile::Trigger& trigger = Nth(bench_.triggers, channel.at->index);
  Give(channel, channel.wheel, StateOf(trigger, in_force_, Nth(advance_deg_, channel.at->index)),
       t_ns);
}

// One that is not there does not conduct, whatever its wheel does.
void OutputFeed::GiveSwitch(Channel& channel, TimeNs t_ns) {
  const profile::Trigger& trigger = Nth(bench_.triggers, channel.at->index);
  const bool is_there = plant::WheelFaultOf(trigger, in_force_).fitted;
  Give(channel, channel.source,
       Source{.kind = SourceKind::kSwitched, .value = channel.conducts && is_there ? 1.0 : 0.0},
       t_ns);
}

void OutputFeed::GiveSensor(Channel& channel, TimeNs t_ns) {
  const auto value_of = [&](int stimulus) { return timeline_.Value(stimulus, t_ns); };
  const profile::Sensor& sensor = Nth(bench_.sensors, channel.at->index);
  Source source = plant::SourceOf(bench_, sensor, value_of, in_force_);
  if (channel.form == Form::kSwitch) {
    const auto& contact = std::get<profile::SwitchSensor>(sensor.model);
    const bool closed = source.value == contact.closed_ohm && IsThere(sensor, in_force_);
    source = {.kind = SourceKind::kSwitched, .value = closed ? 1.0 : 0.0};
  }
  Give(channel, channel.source, source, t_ns);
}

// A relay is driven while its fault is in force.
void OutputFeed::GiveRelays(TimeNs t_ns) {
  for (Channel& channel : channels_) {
    if (!profile::IsFaultRelay(*channel.at)) continue;
    const bool is_in = std::ranges::any_of(channel.puts_in, [&](const profile::Fault* fault) {
      return std::ranges::count(in_force_, fault) > 0;
    });
    Give(channel, channel.source, Source{.kind = SourceKind::kSwitched, .value = is_in ? 1.0 : 0.0},
         t_ns);
  }
}

void OutputFeed::GiveSupply(Channel& channel, TimeNs t_ns) {
  const profile::Supply& supply = Nth(bench_.supplies, channel.at->index);
  output::SupplyVolts now{supply.voltage_v};
  for (const profile::Fault* fault : in_force_) {
    const auto* off = fault->As<profile::fault::SupplyOff>();
    if (off != nullptr && fault->at == supply.name) now.volts += off->volts;
  }
  Give(channel, channel.supply, now, t_ns);
}

template <class State>
void OutputFeed::Give(Channel& channel, State& last, const State& now, TimeNs t_ns) {
  if (channel.given && last == now) return;
  last = now;
  channel.given = true;
  handover_.Put({t_ns, NumberOf(channel), now});
}

}  // namespace drycrank::run
