// SPDX-License-Identifier: Apache-2.0
#include "study/remake.h"

#include <algorithm>

#include "profile/device_leads.h"
#include "standin/controller.h"
#include "standin/conversion.h"
#include "study/remake_pass.h"
#include "study/sampled_channels.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

namespace fault = profile::fault;
using diagnose::PinStates;
using profile::Fault;
using profile::Message;

plant::Party PartyOf(profile::Sender sender) {
  if (sender == profile::Sender::kController) return plant::Party::kController;
  return sender == profile::Sender::kDisplay ? plant::Party::kDisplay : plant::Party::kComputer;
}

bool Any(const std::vector<bool>& flags) { return std::ranges::count(flags, true) > 0; }

}  // namespace

Base::Base(const profile::Bench& bench, const PinStates& pins, const Tape& played,
           const Outcome& came_of_it, const PinStates::Rows& behind,
           std::vector<plant::Hearing> who_hears_whom)
    : tape(played), outcome(came_of_it), rows(behind), hearing(std::move(who_hears_whom)) {
  const std::size_t count = bench.controller->analog.size();
  SampledChannels channels(bench, pins, rows, std::vector<bool>(count, true));
  std::vector<std::int64_t> before(count, 0);
  for (const Tape::Event& event : tape.on_bus()) {
    if (event.kind != Tape::Kind::kSample) continue;
    channels.OnSample(event.t_ns, event.index);
    for (std::size_t c = 0; c < count; ++c) {
      if (channels.at(c).faults() != before[c]) faults.push_back({event.index, c});
      before[c] = channels.at(c).faults();
    }
  }
}

std::vector<const profile::TroubleCode*> TroubleCodesOf(const profile::Controller& controller) {
  std::vector<const profile::TroubleCode*> all;
  const auto add = [&](const std::vector<profile::TroubleCode>& codes) {
    for (const profile::TroubleCode& code : codes) all.push_back(&code);
  };
  if (controller.diagnostics) add(controller.diagnostics->trouble_codes);
  if (controller.j1939) add(controller.j1939->trouble_codes);
  return all;
}

Remake::Remake(const profile::Bench& bench, const profile::Scenario& scenario,
               const PinStates& pins, const Base& healthy)
    : bench_(bench),
      scenario_(scenario),
      pins_(pins),
      names_(standin::ControllerValueNames(*bench.controller)),
      codes_(TroubleCodesOf(*bench.controller)),
      listened_(check::ListenedBy(bench, scenario)),
      limits_(bench, scenario),
      unlike_(NoMessages()) {
  const profile::Controller& controller = *bench.controller;
  for (const profile::AnalogChannel& channel : controller.analog) {
    inputs_.push_back(standin::InputIndex(controller, channel.terminal));
    channel_values_.push_back(ValueIndex(channel.name));
  }
  for (const profile::TroubleCode* code : codes_) {
    code_channels_.push_back(profile::IndexOf(controller.analog, code->channel));
  }
  const Moved all = AllMoved(healthy);
  Pass pass(*this, healthy, {}, healthy.rows, all, nullptr);
  pass.Compare();
  pass.Play();
  unlike_ = pass.unlike();
}

bool Remake::MayBePredicted(const profile::Bench& bench, const Fault& f) {
  if (f.Is<fault::Calibration>() || f.Is<fault::Layout>()) return true;
  const int sensor = profile::IndexOf(bench.sensors, f.at);
  if (f.Is<fault::NotFitted>()) {
    return sensor >= 0 &&
           profile::GivenBy(Nth(bench.sensors, sensor).model) != profile::Gives::kPulses;
  }
  return f.Is<fault::Open>() || f.Is<fault::ShortToGround>() || f.Is<fault::ShortToSupply>() ||
         f.Is<fault::ShortTogether>() || f.Is<fault::SeriesResistance>() ||
         f.Is<fault::Leakage>() || f.Is<fault::TerminalsSwapped>() ||
         f.Is<fault::ConnectorsSwapped>() || f.Is<fault::Termination>();
}

int Remake::ValueIndex(const std::string& name) const {
  const auto at = std::ranges::find(names_, name);
  return at == names_.end() ? -1 : static_cast<int>(at - names_.begin());
}

Remake::PerMessage Remake::NoMessages() const {
  PerMessage none;
  for (const profile::Bus& bus : bench_.buses) none.emplace_back(bus.messages.size(), false);
  return none;
}

Remake::Moved Remake::AllMoved(const Base& healthy) const {
  Moved moved;
  moved.channels.assign(inputs_.size(), true);
  moved.values.assign(names_.size(), false);
  for (const int value : channel_values_) {
    Nth(moved.values, value) = Nth(moved.values, value + 1) = true;
  }
  for (const char* name : {"supply_voltage", "sensor_faults"}) {
    Nth(moved.values, ValueIndex(name)) = true;
  }
  MoveMessages(healthy, {}, moved);
  return moved;
}

Remake::Moved Remake::WhatMoves(const Base& base, std::span<const Fault> faults,
                                const PinStates::Rows& rows) const {
  Moved moved;
  moved.values.assign(names_.size(), false);
  const bool scaled = !pins_.SameReferences(rows, base.rows);
  for (std::size_t c = 0; c < inputs_.size(); ++c) {
    const profile::AnalogChannel& channel = bench_.controller->analog[c];
    const bool told = std::ranges::any_of(
        faults, [&](const Fault& f) { return f.Is<fault::Calibration>() && f.at == channel.name; });
    const bool seen = inputs_[c] >= 0 && ((scaled && channel.ratiometric) ||
                                          !pins_.SameAt(inputs_[c], rows, base.rows));
    moved.channels.push_back(told || seen);
    if (!moved.channels.back()) continue;
    Nth(moved.values, channel_values_[c]) = Nth(moved.values, channel_values_[c] + 1) = true;
    Nth(moved.values, ValueIndex("sensor_faults")) = true;
  }
  if (!pins_.SameSupply(rows, base.rows)) Nth(moved.values, ValueIndex("supply_voltage")) = true;
  MoveMessages(base, faults, moved);
  return moved;
}

bool Remake::Hears(const Base& base, std::size_t bus, profile::Sender from,
                   plant::Party to) const {
  const plant::Hearing& hearing = base.hearing[bus];
  return hearing.IsAnswered(PartyOf(from)) && hearing.Hears(PartyOf(from), to);
}

// What the computer does not hear is not on the tape, and moves nothing there.
void Remake::MoveMessages(const Base& base, std::span<const Fault> faults, Moved& moved) const {
  moved.messages = NoMessages();
  for (const auto sender : {profile::Sender::kController, profile::Sender::kDisplay}) {
    if (sender == profile::Sender::kDisplay) {
      const std::size_t gauges = bench_.display ? bench_.display->gauges.size() : 0;
      for (std::size_t g = 0; g < gauges; ++g) {
        moved.gauges.push_back(IsShown(g, base, faults, moved));
      }
      moved.display = Any(moved.gauges);
    }
    for (std::size_t b = 0; b < bench_.buses.size(); ++b) {
      for (std::size_t m = 0; m < bench_.buses[b].messages.size(); ++m) {
        const Message& message = bench_.buses[b].messages[m];
        if (message.sender != sender) continue;
        moved.messages[b][m] =
            Hears(base, b, sender, plant::Party::kComputer) && IsCarriedBy(message, moved);
      }
    }
  }
}

bool Remake::IsCarriedBy(const Message& message, const Moved& moved) const {
  return std::ranges::any_of(message.signals, [&](const profile::Signal& signal) {
    if (signal.carries.empty()) return false;
    if (message.sender == profile::Sender::kDisplay) return IsOfGauge(signal, moved);
    const int value = ValueIndex(signal.carries);
    return value >= 0 && Nth(moved.values, value);
  });
}

bool Remake::IsOfGauge(const profile::Signal& signal, const Moved& moved) const {
  const auto dot = signal.carries.rfind('.');
  if (dot == std::string::npos || !moved.display) return false;
  const int gauge =
      profile::IndexOf(bench_.display->gauges, std::string_view(signal.carries).substr(0, dot));
  return gauge >= 0 && Nth(moved.gauges, gauge);
}

// Does the gauge get another number, or read it by another layout?
bool Remake::IsShown(std::size_t gauge, const Base& base, std::span<const Fault> faults,
                     const Moved& moved) const {
  const profile::Gauge& shown = bench_.display->gauges[gauge];
  const int layout = profile::IndexOf(bench_.display->layouts, shown.message);
  if (layout < 0) return false;
  for (const Fault& f : faults) {
    if (f.Is<fault::Layout>() && f.at == shown.message + "." + shown.signal) return true;
  }
  const Message& told = Nth(bench_.display->layouts, layout);
  for (std::size_t b = 0; b < bench_.buses.size(); ++b) {
    for (std::size_t m = 0; m < bench_.buses[b].messages.size(); ++m) {
      const Message& message = bench_.buses[b].messages[m];
      if (!Hears(base, b, message.sender, plant::Party::kDisplay)) continue;
      if (moved.messages[b][m] && message.id == told.id && message.extended == told.extended) {
        return true;
      }
    }
  }
  return false;
}

// Does a gauge that moves show something of it?
bool Remake::IsHeard(const Message& message, const Moved& moved) const {
  if (message.sender == profile::Sender::kDisplay) return false;
  for (std::size_t g = 0; g < moved.gauges.size(); ++g) {
    const int layout = profile::IndexOf(bench_.display->layouts, bench_.display->gauges[g].message);
    if (!moved.gauges[g] || layout < 0) continue;
    const Message& told = Nth(bench_.display->layouts, layout);
    if (told.id == message.id && told.extended == message.extended) return true;
  }
  return false;
}

// Of what the display is made anew with: does the tape lack frames that it hears, or have others?
bool Remake::HearsOtherFrames(const Base& base, const Moved& moved) const {
  if (!bench_.display) return false;
  for (std::size_t b = 0; b < bench_.buses.size(); ++b) {
    for (const Message& message : bench_.buses[b].messages) {
      if (message.sender == profile::Sender::kDisplay) continue;
      const bool display = Hears(base, b, message.sender, plant::Party::kDisplay);
      const bool computer = Hears(base, b, message.sender, plant::Party::kComputer);
      if (display == computer) continue;
      if (IsHeard(message, moved) || (display && IsCarriedBy(message, moved))) return true;
    }
  }
  return false;
}

bool Remake::CanBeSaid(const Base& base, const Moved& moved) const {
  if (HearsOtherFrames(base, moved)) return false;
  for (std::size_t b = 0; b < moved.messages.size(); ++b) {
    for (std::size_t m = 0; m < moved.messages[b].size(); ++m) {
      if (!moved.messages[b][m]) continue;
      const Message& message = bench_.buses[b].messages[m];
      const bool multiplexed = std::ranges::any_of(message.signals, [](const auto& signal) {
        return signal.multiplex != profile::Multiplex::kNone;
      });
      if (message.period_ms <= 0 || multiplexed || unlike_[b][m]) return false;
    }
  }
  const bool asked = std::ranges::any_of(listened_, &check::Listened::talk);
  if (asked && Any(moved.values)) return false;
  return std::ranges::none_of(scenario_.steps, [&](const profile::Step& step) {
    return step.wait_for &&
           Nth(Nth(moved.messages, step.wait_for->signal.bus), step.wait_for->signal.message);
  });
}

std::optional<Outcome> Remake::Predict(const Base& base, std::span<const Fault> faults,
                                       const PinStates::Rows& rows) const {
  const Moved moved = WhatMoves(base, faults, rows);
  if (!CanBeSaid(base, moved)) return std::nullopt;
  Outcome outcome = base.outcome;
  const bool any = std::ranges::any_of(moved.messages, Any);
  if (!any && !Any(moved.channels)) return outcome;
  Pass pass(*this, base, faults, rows, moved, &outcome);
  pass.Play();
  if (pass.may_be_protected()) return std::nullopt;
  return outcome;
}

}  // namespace drycrank::study
