// SPDX-License-Identifier: Apache-2.0
//
// display_shows: what the display says on the bus that its gauge shows. Up to three parts, each
// judged whenever the signal that carries it is received (`carries` of messages with sender
// "display"):
//   number  GAUGE.shown  with a stimulus or a value: margin = tolerance + half of the last decimal
//                        shown - |shown - wanted|, in the gauge's unit; age as in wanted.h, both
//                        messages. While its state, where that is told, is "not available" or
//                        "off", there is no number on the screen, whatever is told: wrong
//   unit    GAUGE.unit   with `unit`:  the name of the code (the signal's `values`) is that unit
//   state   GAUGE.state  with `state`: the name of the code is that state
// Unit and state are right or wrong: margin in "frames", less the number of wrong ones, or all
// those judged. The verdict has the margin and evidence of the first part that failed, else of the
// first part asked for; its detail names every part that failed. A part asked for that was never
// seen: not observed, unless another failed.
#include <fmt/format.h>

#include <cmath>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "bus/layout.h"
#include "check/evidence.h"
#include "check/judge.h"
#include "check/value_words.h"
#include "check/wanted.h"
#include "profile/state_names.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::check {
namespace {

using profile::Bench;
using profile::SignalRef;

std::optional<SignalRef> FindCarrier(const Bench& bench, const std::string& carried) {
  for (int b = 0; b < static_cast<int>(bench.buses.size()); ++b) {
    const auto& messages = Nth(bench.buses, b).messages;
    for (int m = 0; m < static_cast<int>(messages.size()); ++m) {
      const auto& message = Nth(messages, m);
      if (message.sender != profile::Sender::kDisplay) continue;
      for (int s = 0; s < static_cast<int>(message.signals.size()); ++s) {
        if (Nth(message.signals, s).carries == carried) {
          return SignalRef{b, m, s};
        }
      }
    }
  }
  return std::nullopt;
}

// `unit`: what `wanted` is as a unit, looked up once for all names.
bool SameName(const std::string& name, const std::string& wanted,
              const std::optional<std::string>& unit) {
  return name == wanted || (unit && CanonicalUnit(name) == unit);
}

// A signal whose raw value is a code with a name.
class CodePart {
 public:
  CodePart(const Bench& bench, const SignalRef& at, std::string wanted)
      : at_(at),
        signal_(&SignalAt(bench, at)),
        wanted_(std::move(wanted)),
        names_(profile::NamesOfValues(*signal_)) {
    const auto unit = CanonicalUnit(wanted_);
    for (const auto& [code, name] : names_) {
      if (SameName(name, wanted_, unit)) wanted_codes_.push_back(code);
    }
  }

  void OnFrame(const Bench& bench, const bus::TimedFrame& frame) {
    const auto value = bus::Decode(MessageAt(bench, MessageOf(at_)), at_.signal, frame.frame);
    if (!value || names_.empty()) return;
    const std::int64_t code = RawOf(*signal_, *value);
    bool right = false;
    for (const std::int64_t wanted : wanted_codes_) right = right || code == wanted;
    if (!right) ++wrong_;
    const std::int64_t due = wanted_codes_.empty() ? -1 : wanted_codes_.front();
    trace_.Add({frame.t_ns, static_cast<double>(code), static_cast<double>(due), 0},
               right ? 0 : -1);
  }

  const SignalRef& at() const { return at_; }
  bool seen() const { return trace_.count() > 0; }
  bool failed() const { return wrong_ > 0; }
  Verdict Judgement(const Bench& bench) const {
    Verdict verdict = VerdictFrom(trace_, Quantity(bench, at_), "");
    verdict.margin_unit = "frames";
    verdict.margin =
        wrong_ > 0 ? 0 - static_cast<double>(wrong_) : static_cast<double>(trace_.count());
    return verdict;
  }
  std::string Detail(std::string_view part) const {
    if (!seen()) return fmt::format("{} not reported on the bus", part);
    if (!failed()) return fmt::format("{} {} throughout", part, Shown(wanted_));
    return fmt::format("{} {}, should be {}, in {} of {} frames", part, FirstWrong(),
                       Shown(wanted_), wrong_, trace_.count());
  }

 private:
  static std::string Shown(const std::string& name) {
    const std::string shown = DisplayUnit(name);
    return shown.empty() ? name : shown;
  }
  std::string FirstWrong() const {
    const auto code = static_cast<std::int64_t>(trace_.worst().reported);
    const auto found = names_.find(code);
    return found == names_.end() ? fmt::format("code {}", code) : Shown(found->second);
  }

  SignalRef at_;
  const profile::Signal* signal_;
  std::string wanted_;
  profile::StateNames names_;
  std::vector<std::int64_t> wanted_codes_;
  std::uint64_t wrong_ = 0;
  Trace trace_;
};

// The number on the screen.
class NumberPart {
 public:
  NumberPart(const Subject& subject, const expect::Target& target, const profile::Readout& readout,
             const SignalRef& at)
      : at_(at),
        readout_(readout),
        wanted_(subject, target, readout_.unit, target.tolerance + RoundingOf(readout),
                PeriodsMs(subject.bench, readout, at)) {}

  void Update() { wanted_.Update(); }
  // `stands`: there is a number on the screen at all.
  void OnFrame(const Bench& bench, const bus::TimedFrame& frame, bool stands) {
    const auto value = bus::Decode(MessageAt(bench, MessageOf(at_)), at_.signal, frame.frame);
    if (!value || !wanted_.comparable()) return;
    if (!stands) {
      ++hidden_;
      return;
    }
    const TracePoint point = wanted_.Compare(frame.t_ns, *value);
    const double margin = MarginOf(point);
    if (margin < 0) ++outside_;
    trace_.Add(point, margin);
  }

  const SignalRef& at() const { return at_; }
  bool seen() const { return trace_.count() + hidden_ > 0; }
  bool failed() const { return outside_ + hidden_ > 0; }
  Verdict Judgement(const Bench& bench) const {
    Verdict verdict = VerdictFrom(trace_, Quantity(bench, at_), readout_.unit);
    if (hidden_ > 0) {
      verdict.margin_unit = "frames";
      verdict.margin = -static_cast<double>(hidden_);
    }
    return verdict;
  }
  std::string Detail() const {
    if (!wanted_.comparable()) {
      return fmt::format("its stimulus does not convert to its unit {}",
                         DisplayUnit(readout_.unit));
    }
    if (!seen()) return "number not reported on the bus";
    if (hidden_ > 0) {
      return fmt::format("showed no number in {} of {} frames", hidden_, trace_.count() + hidden_);
    }
    const TracePoint& worst = trace_.worst();
    const int finer = readout_.decimals + 1;
    std::string text = fmt::format("{}showed {}, should be {}", failed() ? "" : "at worst ",
                                   NumberText(worst.reported, readout_.decimals, readout_.unit),
                                   wanted_.Due(worst, finer, RoundingOf(readout_)));
    if (failed()) text += fmt::format(", in {} of {} frames", outside_, trace_.count());
    return text;
  }

 private:
  // Half of the last decimal shown.
  static double RoundingOf(const profile::Readout& readout) {
    return 0.5 * std::pow(10.0, -readout.decimals);
  }
  // Of the message that is shown and of the one that says so.
  static double PeriodsMs(const Bench& bench, const profile::Readout& readout,
                          const SignalRef& at) {
    const profile::MessageRef shown = profile::FindMessage(bench, readout.message);
    const double shown_ms = shown.bus < 0 ? 0 : MessageAt(bench, shown).period_ms;
    return shown_ms + MessageAt(bench, MessageOf(at)).period_ms;
  }

  SignalRef at_;
  profile::Readout readout_;
  Wanted wanted_;
  Trace trace_;
  std::uint64_t outside_ = 0, hidden_ = 0;
};

class DisplayShows : public Judge {
 public:
  DisplayShows(const Subject& subject, const expect::DisplayShows& kind) : bench_(subject.bench) {
    const std::vector<profile::Readout> readouts = profile::RequiredReadouts(bench_);
    if (kind.gauge < 0 || kind.gauge >= static_cast<int>(readouts.size())) return;
    const profile::Readout& gauge = Nth(readouts, kind.gauge);
    gauge_name_ = gauge.name;
    shown_bus_ = profile::FindMessage(bench_, gauge.message).bus;
    if (kind.target.stimulus >= 0 || kind.target.value) {
      if (const auto at = Carrier(".shown")) number_.emplace(subject, kind.target, gauge, *at);
      if (number_) state_at_ = FindCarrier(bench_, gauge_name_ + ".state");
    }
    if (kind.unit) {
      if (const auto at = Carrier(".unit")) unit_.emplace(bench_, *at, *kind.unit);
    }
    if (kind.state) {
      if (const auto at = Carrier(".state")) state_.emplace(bench_, *at, *kind.state);
    }
  }

  std::vector<profile::MessageRef> Messages() const override {
    std::vector<profile::MessageRef> messages;
    const auto add = [&](const SignalRef& at) {
      for (const auto& known : messages) {
        if (Same(known, MessageOf(at))) return;
      }
      messages.push_back(MessageOf(at));
    };
    if (number_) add(number_->at());
    if (state_at_) add(*state_at_);
    if (unit_) add(unit_->at());
    if (state_) add(state_->at());
    return messages;
  }
  // A display shows what it is told: the bus that tells it must work too.
  std::vector<int> OtherBuses() const override { return {shown_bus_}; }
  void OnStep() override {
    if (number_) number_->Update();
  }
  bool NeedsReports() const override { return true; }
  void OnFrame(const profile::MessageRef& message, const bus::TimedFrame& frame) override {
    const auto here = [&](const SignalRef& at) { return Same(MessageOf(at), message); };
    if (state_at_ && here(*state_at_)) HearState(frame);
    if (number_ && here(number_->at())) number_->OnFrame(bench_, frame, stands_);
    if (unit_ && here(unit_->at())) unit_->OnFrame(bench_, frame);
    if (state_ && here(state_->at())) state_->OnFrame(bench_, frame);
  }
  Verdict Judgement() const override {
    Verdict verdict = Leading();
    const bool failed = Any([](const auto& part) { return part.failed(); });
    const bool unseen = !missing_.empty() || Any([](const auto& part) { return !part.seen(); });
    if (failed) {
      verdict.outcome = Outcome::kFailed;
    } else if (unseen) {
      verdict.outcome = Outcome::kNotObserved;
    }
    verdict.detail = Detail(failed, unseen);
    return verdict;
  }

 private:
  std::optional<SignalRef> Carrier(const char* part) {
    const auto at = FindCarrier(bench_, gauge_name_ + part);
    if (!at) missing_ += fmt::format("{}{}{}", missing_.empty() ? "" : ", ", gauge_name_, part);
    return at;
  }
  void HearState(const bus::TimedFrame& frame) {
    const auto value =
        bus::Decode(MessageAt(bench_, MessageOf(*state_at_)), state_at_->signal, frame.frame);
    if (!value) return;
    const profile::Signal& signal = SignalAt(bench_, *state_at_);
    const auto& names = profile::NamesOfValues(signal);
    const auto name = names.find(RawOf(signal, *value));
    stands_ = name == names.end() || (name->second != "not available" && name->second != "off");
  }
  template <class Predicate>
  bool Any(Predicate predicate) const {
    return (number_ && predicate(*number_)) || (unit_ && predicate(*unit_)) ||
           (state_ && predicate(*state_));
  }
  Verdict Leading() const {
    if (number_ && number_->failed()) return number_->Judgement(bench_);
    if (unit_ && unit_->failed()) return unit_->Judgement(bench_);
    if (state_ && state_->failed()) return state_->Judgement(bench_);
    if (number_) return number_->Judgement(bench_);
    if (unit_) return unit_->Judgement(bench_);
    if (state_) return state_->Judgement(bench_);
    return Verdict{};
  }
  // The parts that failed; those unseen when none did; else all.
  std::string Detail(bool failed, bool unseen) const {
    std::vector<std::string> told;
    if (!missing_.empty()) {
      told.push_back(fmt::format("no message of the display carries {}", missing_));
    }
    const auto tell = [&](const auto& part, std::string words) {
      if (failed ? part.failed() : !unseen || !part.seen()) told.push_back(std::move(words));
    };
    if (number_) tell(*number_, number_->Detail());
    if (unit_) tell(*unit_, unit_->Detail("unit"));
    if (state_) tell(*state_, state_->Detail("state"));
    if (told.empty()) told.emplace_back("nothing to judge");
    return fmt::format("gauge {}: {}", gauge_name_, fmt::join(told, "; "));
  }

  const Bench& bench_;
  std::string gauge_name_;
  int shown_bus_ = -1;
  std::string missing_;
  std::optional<NumberPart> number_;
  std::optional<SignalRef> state_at_;  // of the number
  bool stands_ = true;
  std::optional<CodePart> unit_, state_;
};

}  // namespace

JudgePtr MakeJudge(const Subject& subject, const expect::DisplayShows& kind) {
  return std::make_unique<DisplayShows>(subject, kind);
}

}  // namespace drycrank::check
