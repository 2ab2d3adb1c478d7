// SPDX-License-Identifier: Apache-2.0
//
// always, never: at each reception; margin in the signal's unit. A strict limit that is touched, or
//   a value that must not be, fails with margin 0.
// for_at_least: the longest time from a reception at which the condition held to a later one, with
//   none between at which it did not; margin = that time - for_s. A time that is not judged
//   interrupts. Not observable: it would be met if it had held whenever it could not be seen.
#include <fmt/format.h>

#include <algorithm>

#include "bus/layout.h"
#include "check/evidence.h"
#include "check/judge.h"
#include "check/line_conditions.h"
#include "check/value_words.h"

namespace drycrank::check {
namespace {

class ConditionJudge : public Judge {
 public:
  ConditionJudge(const Subject& subject, const profile::Condition& condition)
      : condition_(condition),
        message_(MessageAt(subject.bench, MessageOf(condition_.signal))),
        signal_(SignalAt(subject.bench, condition_.signal)),
        quantity_(Quantity(subject.bench, condition_.signal)) {}

  std::vector<profile::MessageRef> Messages() const override {
    return {MessageOf(condition_.signal)};
  }
  void OnFrame(const profile::MessageRef& /*message*/, const bus::TimedFrame& frame) override {
    const auto value = bus::Measured(message_, condition_.signal.signal, frame.frame);
    if (!value) {
      ++unmeasured_;
      return;
    }
    OnValue({frame.t_ns, *value, condition_.value, 0});
  }

 protected:
  virtual void OnValue(const TracePoint& point) = 0;

  const profile::Condition& condition_;
  const profile::Message& message_;
  const profile::Signal& signal_;
  const std::string quantity_;
  Trace trace_;
  std::uint64_t unmeasured_ = 0;
};

class AlwaysOrNever : public ConditionJudge {
 public:
  AlwaysOrNever(const Subject& subject, const profile::Condition& condition, bool always)
      : ConditionJudge(subject, condition), always_(always) {}

  bool NeedsReports() const override { return true; }
  Verdict Judgement() const override {
    Verdict verdict = VerdictFrom(trace_, quantity_, signal_.unit);
    if (violated_ > 0) verdict.outcome = Outcome::kFailed;
    verdict.detail = Detail();
    return verdict;
  }

 private:
  void OnValue(const TracePoint& point) override {
    if (scenario::Holds(condition_, point.reported) != always_) ++violated_;
    const double margin = scenario::Margin(condition_, point.reported);
    trace_.Add(point, always_ ? margin : 0 - margin);
  }
  std::string Detail() const {
    if (trace_.count() == 0) return NotReceived(quantity_, unmeasured_);
    const std::string worst = ValueText(signal_, trace_.worst().reported);
    if (violated_ == 0) return fmt::format("at worst {} was {}", quantity_, worst);
    return fmt::format("{} was {}, but \"{}\" must {} hold; violated in {} of {} messages received",
                       quantity_, worst, condition_.text, always_ ? "always" : "never", violated_,
                       trace_.count());
  }

  const bool always_;
  std::uint64_t violated_ = 0;
};

class ForAtLeast : public ConditionJudge {
 public:
  ForAtLeast(const Subject& subject, const expect::ForAtLeast& kind)
      : ConditionJudge(subject, kind.condition), for_s_(kind.for_s) {}

  void Begin(TimeNs /*t_ns*/) override { holding_ = may_hold_ = false; }
  // Unseen, it may hold.
  void Pause(TimeNs t_ns, bool /*open*/) override {
    holding_ = false;
    if (!may_hold_) may_since_ns_ = t_ns;
    may_hold_ = true;
  }
  void Resume(TimeNs settled_ns) override { MayHaveHeldUntil(settled_ns); }
  void Open(TimeNs settled_ns) override { MayHaveHeldUntil(settled_ns); }
  void Abandon(TimeNs end_ns) override { MayHaveHeldUntil(end_ns); }

  Verdict Judgement() const override {
    Verdict verdict = VerdictFrom(trace_, quantity_, signal_.unit);
    verdict.margin_unit = std::string("s");
    const bool may_be_met = may_longest_ns_ >= FromSeconds(for_s_);
    if (trace_.count() == 0) {
      if (may_be_met) verdict.outcome = Outcome::kNotObservable;
      verdict.detail = NotReceived(quantity_, unmeasured_);
      return verdict;
    }
    const double longest_s = ToSeconds(longest_ns_);
    // In whole nanoseconds, so that 2 s of messages are 2 s.
    verdict.margin = ToSeconds(longest_ns_ - FromSeconds(for_s_));
    verdict.outcome = ever_ && verdict.margin >= 0 ? Outcome::kMet : Outcome::kFailed;
    if (verdict.outcome == Outcome::kFailed && may_be_met) {
      verdict.outcome = Outcome::kNotObservable;
    }
    verdict.detail =
        ever_ ? fmt::format("\"{}\" held for {:.3f} s at the longest, should be {:.3f} s",
                            condition_.text, longest_s, for_s_)
              : fmt::format("\"{}\" never held, should be {:.3f} s; last {}", condition_.text,
                            for_s_, ValueText(signal_, last_));
    return verdict;
  }

 private:
  void OnValue(const TracePoint& point) override {
    last_ = point.reported;
    const bool holds = scenario::Holds(condition_, point.reported);
    if (holds && !holding_) since_ns_ = point.t_ns;
    holding_ = holds;
    ever_ = ever_ || holds;
    const TimeNs held_ns = holds ? point.t_ns - since_ns_ : 0;
    longest_ns_ = std::max(longest_ns_, held_ns);
    if (holds && !may_hold_) may_since_ns_ = point.t_ns;
    may_hold_ = holds;
    MayHaveHeldUntil(point.t_ns);
    // What a reader wants to see is the end of the longest hold.
    trace_.Add(point, -ToSeconds(held_ns));
  }

  void MayHaveHeldUntil(TimeNs t_ns) {
    if (may_hold_) may_longest_ns_ = std::max(may_longest_ns_, t_ns - may_since_ns_);
  }

  const double for_s_;
  // The same with what could not be seen counted as holding.
  bool may_hold_ = false;
  TimeNs may_since_ns_ = 0, may_longest_ns_ = 0;
  bool holding_ = false, ever_ = false;
  TimeNs since_ns_ = 0, longest_ns_ = 0;
  double last_ = 0;
};

}  // namespace

JudgePtr MakeJudge(const Subject& subject, const expect::Always& kind) {
  if (IsOnLines(kind.condition)) return MakeLineJudge(subject, kind);
  return std::make_unique<AlwaysOrNever>(subject, kind.condition, true);
}
JudgePtr MakeJudge(const Subject& subject, const expect::Never& kind) {
  if (IsOnLines(kind.condition)) return MakeLineJudge(subject, kind);
  return std::make_unique<AlwaysOrNever>(subject, kind.condition, false);
}
JudgePtr MakeJudge(const Subject& subject, const expect::ForAtLeast& kind) {
  if (IsOnLines(kind.condition)) return MakeLineJudge(subject, kind);
  return std::make_unique<ForAtLeast>(subject, kind);
}

}  // namespace drycrank::check
