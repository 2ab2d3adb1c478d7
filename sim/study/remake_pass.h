// SPDX-License-Identifier: Apache-2.0
//
// One pass over a tape (remake.h): what moves is made anew, event by event, the rest handed on as it
// is. Only remake.cc includes it.
#ifndef DRYCRANK_STUDY_REMAKE_PASS_H_
#define DRYCRANK_STUDY_REMAKE_PASS_H_

#include <algorithm>

#include "bus/layout.h"
#include "check/checker.h"
#include "scenario/timeline.h"
#include "standin/display.h"
#include "study/remake.h"
#include "study/sampled_channels.h"
#include "types/nth.h"

namespace drycrank::study {

class Remake::Pass {
 public:
  Pass(const Remake& all, const Base& base, std::span<const profile::Fault> faults,
       const diagnose::PinStates::Rows& rows, const Moved& moved, Outcome* outcome)
      : all_(all),
        base_(base),
        moved_(moved),
        outcome_(outcome),
        channels_(all.bench_, all.pins_, rows, moved.channels),
        unmoved_(all.bench_, all.pins_, base.rows, moved.channels),
        heard_(all.NoMessages()) {
    for (const profile::Fault& f : faults) channels_.Calibrate(f);
    if (moved.display) SetUpDisplay(faults);
    for (std::size_t b = 0; b < all.bench_.buses.size(); ++b) {
      for (const profile::Message& message : all.bench_.buses[b].messages) {
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

  // A value that moves came beyond a limit at which a protection may act, here or in the base.
  bool may_be_protected() const { return protected_; }
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

  std::vector<Slot> SlotsOf(const profile::Message& message) const {
    std::vector<Slot> slots;
    for (std::size_t s = 0; s < message.signals.size(); ++s) {
      const profile::Signal& signal = message.signals[s];
      if (signal.carries.empty()) continue;
      const auto slot =
          message.sender == profile::Sender::kDisplay ? ShownSlot(signal) : OwnSlot(signal);
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

  void SetUpDisplay(std::span<const profile::Fault> faults) {
    display_.emplace(all_.bench_);
    for (const profile::Fault& f : faults) {
      if (const auto* layout = f.As<profile::fault::Layout>())
        display_->SetLayout(f.at, *layout, true);
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
    step_ = event.index;
    if (timeline_) timeline_->BeginStep(event.index, event.t_ns);
    if (outcome_ != nullptr) outcome_->reported.OnStep(event.index, event.t_ns);
    if (checker_) checker_->OnStep(event.index, event.t_ns);
  }

  void TakeSample(const Tape::Event& event) {
    channels_.OnSample(event.t_ns, event.index);
    if (all_.limits_.any()) WatchLimits(event);
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

  void WatchLimits(const Tape::Event& event) {
    unmoved_.OnSample(event.t_ns, event.index);
    for (std::size_t c = 0; c < moved_.channels.size(); ++c) {
      if (!moved_.channels[c] || protected_) continue;
      protected_ = all_.limits_.MayAct(step_, c, channels_.at(c).value()) ||
                   all_.limits_.MayAct(step_, c, unmoved_.at(c).value());
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

  static void Write(const profile::Message& message, const Made& made, bus::Frame& frame) {
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
  Outcome* outcome_;                    // null: the frames alone
  SampledChannels channels_, unmoved_;  // of these faults, and of the base's
  std::size_t step_ = 0;
  bool protected_ = false;
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

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_REMAKE_PASS_H_
