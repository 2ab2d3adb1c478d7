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

bool IsScaled(const profile::AnalogChannel& channel) { return channel.ratiometric; }

}  // namespace

// ---- what is made anew, event by event ---------------------------------------------------------

class Remake::Pass {
 public:
  Pass(const Remake& all, const Base& base, std::span<const Fault> faults,
       const PinStates::Rows& rows, const Moved& moved, Outcome* outcome)
      : all_(all), base_(base), rows_(rows), moved_(moved), outcome_(outcome) {
    const profile::Controller& controller = *all.bench_.controller;
    for (const profile::AnalogChannel& channel : controller.analog) {
      now_.emplace_back(channel);
      then_.emplace_back(channel);
    }
    for (const Fault& f : faults) Calibrate(f);
    counts_faults_ = CountsFaults();
    if (moved.display) SetUpDisplay(faults);
    for (std::size_t b = 0; b < all.bench_.buses.size(); ++b) {
      made_.emplace_back(all.bench_.buses[b].messages.size());
    }
    if (outcome != nullptr) SetUpJudges();
  }

  void Play() {
    for (const Tape::Event& event : base_.tape.events()) Take(event);
    if (outcome_ == nullptr) return;
    const TimeNs end_ns = base_.tape.begins_ns().back();
    outcome_->reported.OnFinish(end_ns);
    if (!checker_) return;
    checker_->Finish(end_ns);
    for (const check::Verdict& verdict : checker_->verdicts()) {
      outcome_->met[Nth(judged_, verdict.expectation)] = verdict.outcome == check::Outcome::kMet;
    }
  }

  // Messages of which a frame was made that is not the tape's.
  const PerMessage& unlike() const { return unlike_; }
  void Compare() { unlike_ = all_.NoMessages(); }

 private:
  struct Made {
    std::vector<int> signals;  // that move
    std::vector<double> values;
    bool known = false;
  };

  bool CountsFaults() const {
    for (std::size_t b = 0; b < moved_.messages.size(); ++b) {
      for (std::size_t m = 0; m < moved_.messages[b].size(); ++m) {
        const auto& signals = all_.bench_.buses[b].messages[m].signals;
        const bool carries = std::ranges::count(signals, "sensor_faults", &profile::Signal::carries);
        if (moved_.messages[b][m] && carries) return true;
      }
    }
    return false;
  }

  void Calibrate(const Fault& f) {
    const auto* table = f.As<fault::Calibration>();
    const int channel =
        table == nullptr ? -1 : profile::IndexOf(all_.bench_.controller->analog, f.at);
    if (channel >= 0) Nth(now_, channel).SetCalibration(table->gain, table->value);
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
      for (const auto& ref : messages) Nth(Nth(wanted_, ref.bus), ref.message) = true;
    }
    if (judged_.empty()) return;
    for (const std::size_t e : judged_) {
      reduced_.expectations.push_back(all_.scenario_.expectations[e]);
    }
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
        if (checker_) checker_->OnMotion(base_.tape.motions()[event.index]);
        return;
      case Kind::kEdge:
        if (checker_) checker_->OnEdge(base_.tape.edges()[event.index]);
        return;
      case Kind::kOutput:
        if (checker_) checker_->OnOutput(base_.tape.outputs()[event.index]);
        return;
    }
  }

  void TakeStep(const Tape::Event& event) {
    if (timeline_) timeline_->BeginStep(event.index, event.t_ns);
    if (outcome_ != nullptr) outcome_->reported.OnStep(event.index, event.t_ns);
    if (checker_) checker_->OnStep(event.index, event.t_ns);
  }

  void TakeSample(const Tape::Event& event) {
    const std::size_t state = all_.pins_.StateAt(event.index);
    Convert(event.t_ns, state, rows_, now_);
    if (counts_faults_) Convert(event.t_ns, state, base_.rows, then_);
    if (display_) display_->Advance(event.t_ns);
    if (outcome_ != nullptr) LookAtCodes();
  }

  void Convert(TimeNs t_ns, std::size_t state, const PinStates::Rows& rows,
               std::vector<standin::AnalogInput>& channels) {
    const profile::Controller& controller = *all_.bench_.controller;
    supply_v_ = rows_.supply_v(state);
    const bool powered = rows.supply_v(state) >= controller.min_supply_v;
    const double scale = standin::ReferenceScale(controller, rows.reference_v(state));
    for (std::size_t c = 0; c < channels.size(); ++c) {
      if (!moved_.channels[c]) continue;
      if (!powered) {
        channels[c].NoSupply();
      } else if (all_.inputs_[c] >= 0) {
        channels[c].OnSample(t_ns, rows.input_v(state, all_.inputs_[c]), scale);
      }
    }
  }

  // As TroubleMemory::Look; of other channels the base's answer stands.
  void LookAtCodes() {
    for (std::size_t k = 0; k < all_.codes_.size(); ++k) {
      const int channel =
          profile::IndexOf(all_.bench_.controller->analog, all_.codes_[k]->channel);
      if (channel < 0 || !Nth(moved_.channels, channel)) continue;
      const bool active = static_cast<double>(Nth(now_, channel).fault()) ==
                          static_cast<double>(all_.codes_[k]->when);
      if (!looked_) outcome_->stored[k] = false;
      if (active) outcome_->stored[k] = true;
    }
    looked_ = true;
  }

  double ControllerValue(int value) const {
    for (std::size_t c = 0; c < now_.size(); ++c) {
      if (all_.channel_values_[c] == value) return now_[c].value();
      if (all_.channel_values_[c] + 1 == value) return static_cast<double>(now_[c].fault());
    }
    return supply_v_;
  }

  // Beyond those of the base.
  double MoreFaults() const {
    std::int64_t more = 0;
    for (std::size_t c = 0; c < now_.size(); ++c) {
      if (moved_.channels[c]) more += now_[c].faults() - then_[c].faults();
    }
    return static_cast<double>(more);
  }

  void TakeDue(const Tape::Event& event) {
    const profile::MessageRef& ref = base_.tape.dues()[event.index];
    if (!Nth(Nth(moved_.messages, ref.bus), ref.message)) return;
    const Message& message = profile::MessageAt(all_.bench_, ref);
    Made& made = Nth(Nth(made_, ref.bus), ref.message);
    made.known = true;
    made.signals.clear();
    made.values.clear();
    const bool own = message.sender == profile::Sender::kController;
    if (!own) display_->Advance(event.t_ns);
    for (std::size_t s = 0; s < message.signals.size(); ++s) {
      const std::string& carries = message.signals[s].carries;
      if (carries.empty()) continue;
      if (own) {
        const int value = all_.ValueIndex(carries);
        if (value < 0 || !Nth(moved_.values, value)) continue;
        made.values.push_back(carries == "sensor_faults" ? MoreFaults() : ControllerValue(value));
      } else {
        if (!all_.IsOfGauge(message.signals[s], moved_)) continue;
        made.values.push_back(display_->Value(display_->ValueIndex(carries)));
      }
      made.signals.push_back(static_cast<int>(s));
    }
  }

  void TakeFrame(const Tape::Received& received) {
    if (received.message < 0) {
      if (display_) display_->OnFrame(received.frame);
      return;
    }
    const profile::MessageRef ref{received.frame.bus, received.message};
    const Message& message = profile::MessageAt(all_.bench_, ref);
    if (!Nth(Nth(moved_.messages, ref.bus), ref.message)) return Hand(ref, message, received.frame);
    bus::TimedFrame frame = received.frame;
    Write(message, Nth(Nth(made_, ref.bus), ref.message), frame.frame);
    if (!unlike_.empty() && !(frame.frame == received.frame.frame)) {
      Nth(Nth(unlike_, ref.bus), ref.message) = true;
    }
    if (outcome_ != nullptr) outcome_->reported.OnFrame(frame);
    Hand(ref, message, frame);
  }

  static void Write(const Message& message, const Made& made, bus::Frame& frame) {
    if (!made.known) return;
    const std::uint64_t count = bus::CounterOf(message, frame);
    for (std::size_t i = 0; i < made.signals.size(); ++i) {
      const profile::Signal& signal = Nth(message.signals, made.signals[i]);
      double value = made.values[i];
      if (signal.carries == "sensor_faults") value += bus::PhysicalValue(signal, frame.bytes());
      bus::InsertBits(signal, bus::BitsFor(signal, value),
                      std::span(frame.data.data(), frame.length));
    }
    bus::Seal(message, count, frame);
  }

  void Hand(const profile::MessageRef& ref, const Message& message, const bus::TimedFrame& frame) {
    if (checker_ && Nth(Nth(wanted_, ref.bus), ref.message)) checker_->OnFrame(frame);
    if (display_ && message.sender != profile::Sender::kDisplay) display_->OnFrame(frame);
  }

  const Remake& all_;
  const Base& base_;
  const PinStates::Rows& rows_;
  const Moved& moved_;
  Outcome* outcome_;                                // null: the frames alone
  std::vector<standin::AnalogInput> now_, then_;    // per channel; of the base
  double supply_v_ = 0;
  bool looked_ = false;
  bool counts_faults_ = false;  // a message that moves carries their number
  std::optional<standin::Display> display_;
  std::vector<std::vector<Made>> made_;  // [bus][message]
  PerMessage unlike_, wanted_;
  std::vector<std::size_t> judged_;  // expectations
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
    for (const profile::TroubleCode& code : codes) codes_.push_back(&code);
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
    const bool seen = inputs_[c] >= 0 && ((scaled && IsScaled(channel)) ||
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
