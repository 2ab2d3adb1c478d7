// SPDX-License-Identifier: Apache-2.0
#include "study/remake.h"

#include <algorithm>
#include <cmath>

#include "bus/layout.h"
#include "check/checker.h"
#include "profile/device_leads.h"
#include "scenario/timeline.h"
#include "standin/controller.h"
#include "standin/conversion.h"
#include "standin/display.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

namespace fault = profile::fault;
using diagnose::PinStates;
using profile::Fault;
using profile::Message;

bool Any(const std::vector<bool>& flags) { return std::ranges::count(flags, true) > 0; }

}  // namespace

// ---- what is made anew, event by event ---------------------------------------------------------

namespace {

// The analogue channels of a controller, as standin::Controller::OnSample has them.
class Channels {
 public:
  Channels(const profile::Bench& bench, const PinStates& pins, const PinStates::Rows& rows,
           const std::vector<bool>& wanted)
      : controller_(*bench.controller), pins_(pins), rows_(rows) {
    for (std::size_t c = 0; c < controller_.analog.size(); ++c) {
      const profile::AnalogChannel& channel = controller_.analog[c];
      inputs_.emplace_back(channel);
      if (wanted[c]) wanted_.push_back({c, standin::InputIndex(controller_, channel.terminal)});
    }
  }

  void Calibrate(const Fault& f) {
    const auto* table = f.As<fault::Calibration>();
    const int channel = table == nullptr ? -1 : profile::IndexOf(controller_.analog, f.at);
    if (channel >= 0) Nth(inputs_, channel).SetCalibration(table->gain, table->value);
  }

  void OnSample(TimeNs t_ns, std::size_t sample) {
    const std::size_t state = pins_.StateAt(sample);
    if (state != state_) {
      state_ = state;
      supply_v_ = rows_.supply_v(state);
      scale_ = standin::ReferenceScale(controller_, rows_.reference_v(state));
    }
    const bool powered = supply_v_ >= controller_.min_supply_v;
    for (const auto& [channel, input] : wanted_) {
      if (!powered) {
        inputs_[channel].NoSupply();
      } else if (input >= 0) {
        inputs_[channel].OnSample(t_ns, rows_.input_v(state, input), scale_);
      }
    }
  }

  const standin::AnalogInput& at(std::size_t channel) const { return inputs_[channel]; }
  double supply_v() const { return supply_v_; }

 private:
  struct Wanted {
    std::size_t channel = 0;
    int input = -1;
  };

  const profile::Controller& controller_;
  const PinStates& pins_;
  const PinStates::Rows& rows_;
  std::vector<standin::AnalogInput> inputs_;
  std::vector<Wanted> wanted_;
  std::size_t state_ = static_cast<std::size_t>(-1);
  double supply_v_ = 0, scale_ = 1;
};

}  // namespace

Base::Base(const profile::Bench& bench, const PinStates& pins, const Tape& played,
           const Outcome& came_of_it, const PinStates::Rows& behind)
    : tape(played), outcome(came_of_it), rows(behind) {
  const std::size_t count = bench.controller->analog.size();
  Channels channels(bench, pins, rows, std::vector<bool>(count, true));
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

class Remake::Pass {
 public:
  Pass(const Remake& all, const Base& base, std::span<const Fault> faults,
       const PinStates::Rows& rows, const Moved& moved, Outcome* outcome)
      : all_(all),
        base_(base),
        moved_(moved),
        outcome_(outcome),
        channels_(all.bench_, all.pins_, rows, moved.channels),
        heard_(all.NoMessages()) {
    for (const Fault& f : faults) channels_.Calibrate(f);
    if (moved.display) SetUpDisplay(faults);
    for (std::size_t b = 0; b < all.bench_.buses.size(); ++b) {
      for (const Message& message : all.bench_.buses[b].messages) {
        const auto m = static_cast<std::size_t>(&message - all.bench_.buses[b].messages.data());
        if (m == 0) made_.emplace_back(all.bench_.buses[b].messages.size());
        if (moved.messages[b][m]) made_[b][m].slots = SlotsOf(message);
        heard_[b][m] = moved.display && all.IsHeard(message, moved);
      }
      if (made_.size() == b) made_.emplace_back();
    }
    for (std::size_t k = 0; k < all.codes_.size(); ++k) {
      const int channel = all.code_channels_[k];
      if (outcome == nullptr || channel < 0 || !Nth(moved.channels, channel)) continue;
      codes_.push_back(k);
      outcome->stored[k] = false;
    }
    if (outcome != nullptr) SetUpJudges();
  }

  void Play() {
    const bool events = checker_ && checker_->WatchesEvents();
    const Tape& tape = base_.tape;
    for (const Tape::Event& event : events ? tape.events() : tape.on_bus()) Take(event);
    if (outcome_ == nullptr) return;
    const TimeNs end_ns = tape.begins_ns().back();
    outcome_->reported.OnFinish(end_ns);
    if (!checker_) return;
    checker_->Finish(end_ns);
    for (const check::Verdict& verdict : checker_->verdicts()) {
      outcome_->met[Nth(judged_, verdict.expectation)] = verdict.outcome == check::Outcome::kMet;
    }
  }

  // From now on, messages of which a frame was made that is not the tape's.
  void Compare() { unlike_ = all_.NoMessages(); }
  const PerMessage& unlike() const { return unlike_; }

 private:
  // Where a signal of a message that moves gets its value.
  struct Slot {
    enum class From { kValue, kFault, kSupply, kFaults, kDisplay };
    int signal = 0;
    From from = From::kValue;
    int index = 0;  // of the channel, or the display's value
  };
  struct Made {
    std::vector<Slot> slots;
    std::vector<double> values;  // at the last due instant
  };

  std::vector<Slot> SlotsOf(const Message& message) const {
    std::vector<Slot> slots;
    for (std::size_t s = 0; s < message.signals.size(); ++s) {
      const profile::Signal& signal = message.signals[s];
      if (signal.carries.empty()) continue;
      const auto slot = message.sender == profile::Sender::kDisplay ? ShownSlot(signal)
                                                                    : OwnSlot(signal);
      if (!slot) continue;
      slots.push_back(*slot);
      slots.back().signal = static_cast<int>(s);
    }
    return slots;
  }

  std::optional<Slot> ShownSlot(const profile::Signal& signal) const {
    if (!all_.IsOfGauge(signal, moved_)) return std::nullopt;
    return Slot{0, Slot::From::kDisplay, display_->ValueIndex(signal.carries)};
  }

  std::optional<Slot> OwnSlot(const profile::Signal& signal) const {
    using From = Slot::From;
    const int value = all_.ValueIndex(signal.carries);
    if (value < 0 || !Nth(moved_.values, value)) return std::nullopt;
    if (signal.carries == "sensor_faults") return Slot{0, From::kFaults, 0};
    for (std::size_t c = 0; c < all_.channel_values_.size(); ++c) {
      const int own = all_.channel_values_[c];
      if (value == own) return Slot{0, From::kValue, static_cast<int>(c)};
      if (value == own + 1) return Slot{0, From::kFault, static_cast<int>(c)};
    }
    return Slot{0, From::kSupply, 0};
  }

  void SetUpDisplay(std::span<const Fault> faults) {
    display_.emplace(all_.bench_);
    for (const Fault& f : faults) {
      if (const auto* layout = f.As<fault::Layout>()) display_->SetLayout(f.at, *layout, true);
    }
  }

  void SetUpJudges() {
    std::vector<bool> anew;
    for (const Reported::Watched& watched : outcome_->reported.watched()) {
      const profile::SignalRef& ref = watched.reading.signal;
      anew.push_back(Nth(Nth(moved_.messages, ref.bus), ref.message));
    }
    outcome_->reported.Again(std::move(anew));
    wanted_ = all_.NoMessages();
    for (std::size_t e = 0; e < all_.listened_.size(); ++e) {
      const auto& messages = all_.listened_[e].messages;
      const bool concerned = std::ranges::any_of(messages, [&](const profile::MessageRef& ref) {
        return Nth(Nth(moved_.messages, ref.bus), ref.message);
      });
      if (!concerned) continue;
      judged_.push_back(e);
      reduced_.expectations.push_back(all_.scenario_.expectations[e]);
      for (const auto& ref : messages) Nth(Nth(wanted_, ref.bus), ref.message) = true;
    }
    if (judged_.empty()) return;
    reduced_.steps = all_.scenario_.steps;
    reduced_.start_deg = all_.scenario_.start_deg;
    timeline_.emplace(all_.bench_, reduced_);
    checker_.emplace(all_.bench_, reduced_, *timeline_);
  }

  void Take(const Tape::Event& event) {
    using Kind = Tape::Kind;
    switch (event.kind) {
      case Kind::kStep:
        return TakeStep(event);
      case Kind::kSample:
        return TakeSample(event);
      case Kind::kDue:
        return TakeDue(event);
      case Kind::kFrame:
        return TakeFrame(base_.tape.frames()[event.index]);
      case Kind::kMotion:
        return checker_->OnMotion(base_.tape.motions()[event.index]);
      case Kind::kEdge:
        return checker_->OnEdge(base_.tape.edges()[event.index]);
      case Kind::kOutput:
        return checker_->OnOutput(base_.tape.outputs()[event.index]);
    }
  }

  void TakeStep(const Tape::Event& event) {
    if (timeline_) timeline_->BeginStep(event.index, event.t_ns);
    if (outcome_ != nullptr) outcome_->reported.OnStep(event.index, event.t_ns);
    if (checker_) checker_->OnStep(event.index, event.t_ns);
  }

  void TakeSample(const Tape::Event& event) {
    channels_.OnSample(event.t_ns, event.index);
    for (; passed_ < base_.faults.size() && base_.faults[passed_].sample <= event.index;
         ++passed_) {
      if (moved_.channels[base_.faults[passed_].channel]) ++base_faults_;
    }
    // As TroubleMemory::Look; of other channels the base's answer stands.
    for (const std::size_t k : codes_) {
      const auto fault = channels_.at(static_cast<std::size_t>(all_.code_channels_[k])).fault();
      if (static_cast<double>(fault) == static_cast<double>(all_.codes_[k]->when)) {
        outcome_->stored[k] = true;
      }
    }
  }

  // Beyond those of the base.
  double MoreFaults() const {
    std::int64_t more = -base_faults_;
    for (std::size_t c = 0; c < moved_.channels.size(); ++c) {
      if (moved_.channels[c]) more += channels_.at(c).faults();
    }
    return static_cast<double>(more);
  }

  double ValueOf(const Slot& slot) const {
    const auto channel = static_cast<std::size_t>(slot.index);
    switch (slot.from) {
      case Slot::From::kValue:
        return channels_.at(channel).value();
      case Slot::From::kFault:
        return static_cast<double>(channels_.at(channel).fault());
      case Slot::From::kSupply:
        return channels_.supply_v();
      case Slot::From::kFaults:
        return MoreFaults();
      case Slot::From::kDisplay:
        break;
    }
    return display_->Value(slot.index);
  }

  void TakeDue(const Tape::Event& event) {
    const profile::MessageRef& ref = base_.tape.dues()[event.index];
    Made& made = Nth(Nth(made_, ref.bus), ref.message);
    if (made.slots.empty()) return;
    if (made.slots[0].from == Slot::From::kDisplay) display_->Advance(event.t_ns);
    made.values.clear();
    for (const Slot& slot : made.slots) made.values.push_back(ValueOf(slot));
  }

  void TakeFrame(const Tape::Received& received) {
    if (received.message < 0) {
      if (display_) display_->OnFrame(received.frame);
      return;
    }
    const profile::MessageRef ref{received.frame.bus, received.message};
    const Made& made = Nth(Nth(made_, ref.bus), ref.message);
    if (made.slots.empty()) return Hand(ref, received.frame);
    bus::TimedFrame frame = received.frame;
    Write(profile::MessageAt(all_.bench_, ref), made, frame.frame);
    if (!unlike_.empty() && !(frame.frame == received.frame.frame)) {
      Nth(Nth(unlike_, ref.bus), ref.message) = true;
    }
    if (outcome_ != nullptr) outcome_->reported.OnFrame(frame);
    Hand(ref, frame);
  }

  static void Write(const Message& message, const Made& made, bus::Frame& frame) {
    if (made.values.empty()) return;
    const std::uint64_t count = bus::CounterOf(message, frame);
    for (std::size_t i = 0; i < made.slots.size(); ++i) {
      const Slot& slot = made.slots[i];
      const profile::Signal& signal = Nth(message.signals, slot.signal);
      double value = made.values[i];
      if (slot.from == Slot::From::kFaults) value += bus::PhysicalValue(signal, frame.bytes());
      bus::InsertBits(signal, bus::BitsFor(signal, value),
                      std::span(frame.data.data(), frame.length));
    }
    bus::Seal(message, count, frame);
  }

  void Hand(const profile::MessageRef& ref, const bus::TimedFrame& frame) {
    if (checker_ && Nth(Nth(wanted_, ref.bus), ref.message)) checker_->OnFrame(frame);
    if (Nth(Nth(heard_, ref.bus), ref.message)) display_->OnFrame(frame);
  }

  const Remake& all_;
  const Base& base_;
  const Moved& moved_;
  Outcome* outcome_;  // null: the frames alone
  Channels channels_;
  std::size_t passed_ = 0;        // of the base's faults ...
  std::int64_t base_faults_ = 0;  // ... those of channels that move
  std::vector<std::size_t> codes_;
  std::optional<standin::Display> display_;
  std::vector<std::vector<Made>> made_;  // [bus][message]
  PerMessage unlike_, wanted_, heard_;   // by the checker; by the display
  std::vector<std::size_t> judged_;      // expectations
  profile::Scenario reduced_;
  std::optional<scenario::Timeline> timeline_;
  std::optional<check::Checker> checker_;
};

// ---- what moves --------------------------------------------------------------------------------

Remake::Remake(const profile::Bench& bench, const profile::Scenario& scenario,
               const PinStates& pins, const Base& healthy)
    : bench_(bench),
      scenario_(scenario),
      pins_(pins),
      names_(standin::ControllerValueNames(*bench.controller)),
      listened_(check::ListenedBy(bench, scenario)),
      unlike_(NoMessages()) {
  const profile::Controller& controller = *bench.controller;
  for (const profile::AnalogChannel& channel : controller.analog) {
    inputs_.push_back(standin::InputIndex(controller, channel.terminal));
    channel_values_.push_back(ValueIndex(channel.name));
  }
  const auto add = [this](const std::vector<profile::TroubleCode>& codes) {
    for (const profile::TroubleCode& code : codes) {
      codes_.push_back(&code);
      code_channels_.push_back(profile::IndexOf(bench_.controller->analog, code.channel));
    }
  };
  if (controller.diagnostics) add(controller.diagnostics->trouble_codes);
  if (controller.j1939) add(controller.j1939->trouble_codes);
  const Moved all = AllMoved();
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
         f.Is<fault::ConnectorsSwapped>();
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

Remake::Moved Remake::AllMoved() const {
  Moved moved;
  moved.channels.assign(inputs_.size(), true);
  moved.values.assign(names_.size(), false);
  for (const int value : channel_values_) {
    Nth(moved.values, value) = Nth(moved.values, value + 1) = true;
  }
  for (const char* name : {"supply_voltage", "sensor_faults"}) {
    Nth(moved.values, ValueIndex(name)) = true;
  }
  MoveMessages({}, moved);
  return moved;
}

Remake::Moved Remake::WhatMoves(const Base& base, std::span<const Fault> faults,
                                const PinStates::Rows& rows) const {
  Moved moved;
  moved.values.assign(names_.size(), false);
  const bool scaled = !pins_.SameReferences(rows, base.rows);
  for (std::size_t c = 0; c < inputs_.size(); ++c) {
    const profile::AnalogChannel& channel = bench_.controller->analog[c];
    const bool told = std::ranges::any_of(faults, [&](const Fault& f) {
      return f.Is<fault::Calibration>() && f.at == channel.name;
    });
    const bool seen = inputs_[c] >= 0 && ((scaled && channel.ratiometric) ||
                                          !pins_.SameAt(inputs_[c], rows, base.rows));
    moved.channels.push_back(told || seen);
    if (!moved.channels.back()) continue;
    Nth(moved.values, channel_values_[c]) = Nth(moved.values, channel_values_[c] + 1) = true;
    Nth(moved.values, ValueIndex("sensor_faults")) = true;
  }
  if (!pins_.SameSupply(rows, base.rows)) Nth(moved.values, ValueIndex("supply_voltage")) = true;
  MoveMessages(faults, moved);
  return moved;
}

void Remake::MoveMessages(std::span<const Fault> faults, Moved& moved) const {
  moved.messages = NoMessages();
  for (const auto sender : {profile::Sender::kController, profile::Sender::kDisplay}) {
    if (sender == profile::Sender::kDisplay) {
      const std::size_t gauges = bench_.display ? bench_.display->gauges.size() : 0;
      for (std::size_t g = 0; g < gauges; ++g) moved.gauges.push_back(IsShown(g, faults, moved));
      moved.display = Any(moved.gauges);
    }
    for (std::size_t b = 0; b < bench_.buses.size(); ++b) {
      for (std::size_t m = 0; m < bench_.buses[b].messages.size(); ++m) {
        const Message& message = bench_.buses[b].messages[m];
        if (message.sender == sender) moved.messages[b][m] = IsCarriedBy(message, moved);
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
bool Remake::IsShown(std::size_t gauge, std::span<const Fault> faults, const Moved& moved) const {
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
    const int layout =
        profile::IndexOf(bench_.display->layouts, bench_.display->gauges[g].message);
    if (!moved.gauges[g] || layout < 0) continue;
    const Message& told = Nth(bench_.display->layouts, layout);
    if (told.id == message.id && told.extended == message.extended) return true;
  }
  return false;
}

bool Remake::CanBeSaid(const Moved& moved) const {
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
    return step.wait_for && Nth(Nth(moved.messages, step.wait_for->signal.bus),
                                step.wait_for->signal.message);
  });
}

std::optional<Outcome> Remake::Predict(const Base& base, std::span<const Fault> faults,
                                       const PinStates::Rows& rows) const {
  const Moved moved = WhatMoves(base, faults, rows);
  if (!CanBeSaid(moved)) return std::nullopt;
  Outcome outcome = base.outcome;
  const bool any = std::ranges::any_of(moved.messages, Any);
  if (!any && !Any(moved.channels)) return outcome;
  Pass pass(*this, base, faults, rows, moved, &outcome);
  pass.Play();
  return outcome;
}

}  // namespace drycrank::study
