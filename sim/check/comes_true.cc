// SPDX-License-Identifier: Apache-2.0
//
// within: the condition comes true within within_s of the begin of each judged stretch.
//   margin = within_s - time taken, s.
// synchronised: it comes true within `turns` crank turns of the first instant in the stretch at
//   which engine_speed > 0.
//   turns = integral of engine_speed dt / 60 (r/min, s); before that instant the integral is 0, so
//   that it needs no search. Receptions while the crank has yet to turn do not count: what they
//   report is from before. margin = turns - turns taken.
// When it does not come true: margin = limit - all that passed, at most 0. One late stretch fails
// it.
#include <fmt/format.h>

#include <algorithm>
#include <limits>

#include "bus/layout.h"
#include "check/evidence.h"
#include "check/judge.h"
#include "check/line_conditions.h"
#include "check/value_words.h"

namespace drycrank::check {
namespace {

constexpr int kEngineSpeed = 0;  // the first stimulus of every bench

class ComesTrue : public Judge {
 public:
  ComesTrue(const Subject& subject, const profile::Condition& condition, bool in_turns,
            double limit)
      : subject_(subject),
        condition_(condition),
        message_(MessageAt(subject.bench, MessageOf(condition_.signal))),
        signal_(SignalAt(subject.bench, condition_.signal)),
        in_turns_(in_turns),
        limit_(limit) {}

  std::vector<profile::MessageRef> Messages() const override {
    return {MessageOf(condition_.signal)};
  }
  void Begin(TimeNs t_ns) override {
    begin_ns_ = t_ns;
    begin_turns_ = TurnsAt(t_ns);
    true_ = interrupted_ = false;
  }
  // Until its time is up it may come true unseen.
  void Pause(TimeNs t_ns, bool /*open*/) override {
    if (!true_ && Passed(t_ns) < limit_) interrupted_ = true;
  }
  void Abandon(TimeNs end_ns) override { Close(end_ns); }
  void OnFrame(const profile::MessageRef& /*message*/, const bus::TimedFrame& frame) override {
    const auto value = bus::Measured(message_, condition_.signal.signal, frame.frame);
    if (!value) {
      ++unmeasured_;
      return;
    }
    received_ = true;
    const TracePoint point{frame.t_ns, *value, condition_.value, 0};
    if (true_) {
      trace_.Add(point, std::numeric_limits<double>::infinity());
      return;
    }
    const double passed = Passed(frame.t_ns);
    if (in_turns_ && passed <= 0) return;
    ++judged_;
    last_ = *value;
    trace_.Add(point, limit_ - passed);
    true_ = scenario::Holds(condition_, *value);
    if (!true_) return;
    if (interrupted_ && passed > limit_) {
      undecided_ = true;
      return;
    }
    Settle(limit_ - passed, passed, frame.t_ns, true);
  }
  void Close(TimeNs end_ns) override {
    const double passed = Passed(end_ns);
    if (true_ || (in_turns_ && passed <= 0)) return;
    if (interrupted_) {
      undecided_ = true;
      return;
    }
    Settle(std::min(0.0, limit_ - passed), passed, end_ns, false);
  }
  Verdict Judgement() const override {
    const std::string quantity = Quantity(subject_.bench, condition_.signal);
    Verdict verdict = VerdictFrom(trace_, quantity, signal_.unit);
    verdict.judged = judged_;
    verdict.margin_unit = in_turns_ ? "turns" : "s";
    verdict.margin = settled_ ? margin_ : 0;
    verdict.worst_ns = worst_ns_;
    verdict.outcome = Outcome::kNotObserved;
    if (judged_ > 0) {
      verdict.outcome = came_true_ && margin_ >= 0 ? Outcome::kMet : Outcome::kFailed;
    }
    const bool failed = settled_ && verdict.outcome == Outcome::kFailed;
    if (undecided_ && !failed) verdict.outcome = Outcome::kNotObservable;
    verdict.detail = Detail(quantity);
    return verdict;
  }

 private:
  double TurnsAt(TimeNs t_ns) const { return subject_.timeline.Integral(kEngineSpeed, t_ns) / 60; }
  double Passed(TimeNs t_ns) const {
    return in_turns_ ? TurnsAt(t_ns) - begin_turns_ : ToSeconds(t_ns - begin_ns_);
  }
  // One stretch has been decided; the worst of them is the verdict.
  void Settle(double margin, double passed, TimeNs t_ns, bool came_true) {
    came_true_ = came_true && (came_true_ || !settled_);
    if (settled_ && margin >= margin_) return;
    settled_ = true;
    margin_ = margin;
    passed_ = passed;
    worst_ns_ = t_ns;
    worst_came_true_ = came_true;
  }
  std::string Detail(const std::string& quantity) const {
    if (!received_) return NotReceived(quantity, unmeasured_);
    if (undecided_ && !settled_) {
      return fmt::format("whether \"{}\" happened in time could not be seen; last {}",
                         condition_.text, ValueText(signal_, last_));
    }
    if (judged_ == 0) return "the crank did not turn while this was judged";
    const char* unit = in_turns_ ? "turns of the crank" : "s";
    const int decimals = in_turns_ ? 2 : 3;
    if (worst_came_true_) {
      return fmt::format("\"{}\" happened after {:.{}f} {}, {:.{}f} allowed", condition_.text,
                         passed_, decimals, unit, limit_, decimals);
    }
    return fmt::format("\"{}\" did not happen in {:.{}f} {}, {:.{}f} allowed; last {}",
                       condition_.text, passed_, decimals, unit, limit_, decimals,
                       ValueText(signal_, last_));
  }

  Subject subject_;
  const profile::Condition& condition_;
  const profile::Message& message_;
  const profile::Signal& signal_;
  const bool in_turns_;
  const double limit_;  // turns or s
  Trace trace_;

  TimeNs begin_ns_ = 0;
  double begin_turns_ = 0;
  bool true_ = false;         // in this stretch
  bool interrupted_ = false;  // in this stretch, while it could still come true in time
  bool undecided_ = false;

  bool received_ = false;
  std::uint64_t unmeasured_ = 0;
  std::uint64_t judged_ = 0;  // receptions until it came true
  bool settled_ = false, came_true_ = false, worst_came_true_ = false;
  double margin_ = 0, passed_ = 0, last_ = 0;
  TimeNs worst_ns_ = 0;
};

}  // namespace

JudgePtr MakeJudge(const Subject& subject, const expect::Within& kind) {
  if (IsOnLines(kind.condition)) return MakeLineJudge(subject, kind);
  return std::make_unique<ComesTrue>(subject, kind.condition, false, kind.within_s);
}
JudgePtr MakeJudge(const Subject& subject, const expect::Synchronised& kind) {
  return std::make_unique<ComesTrue>(subject, kind.condition, true, kind.turns);
}

}  // namespace drycrank::check
