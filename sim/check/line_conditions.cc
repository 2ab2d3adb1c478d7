// SPDX-License-Identifier: Apache-2.0
//
// always, never, within and for_at_least of what the controller's pins do (profile/condition.h), and of
// always and never what `when` leaves of the time. Time is cut where something happens and where an age
// passes its limit; between, a condition holds or does not.
//
//   always, never   margin: less the longest time for which it was violated; or all time judged. Nothing
//                   is judged while `when` is not true; a time of no length violates nothing.
//   within          margin = within_s - the time until it first held, in each stretch
//   for_at_least    margin = the longest time for which it held - for_s
//
// Edges and outputs of one sample come one kind after the other: edges wait until the outputs that belong
// between them have come. Where nothing ever happens at any pin, nothing is judged: a real controller's
// pins are not seen.
#include "check/line_conditions.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>

#include "check/evidence.h"
#include "check/judge.h"
#include "check/line_state.h"

namespace drycrank::check {
namespace {

constexpr std::size_t kWaiting = 16384;  // edges

TimeNs SampleNs(const profile::Bench& bench) {
  return FromMs(bench.controller ? bench.controller->sample_ms : 0);
}

// Hands on edges and outputs in the order of their time.
class LineJudge : public EventJudge {
 public:
  LineJudge(const Subject& subject, const profile::Condition& condition)
      : condition_(condition, subject.crank), wait_ns_(SampleNs(subject.bench) + kNsPerMs) {
    if (subject.when != nullptr) when_.emplace(*subject.when, subject.crank);
    waiting_.reserve(kWaiting);
  }

  bool WatchesOutputs() const override { return true; }
  bool WatchesTriggers() const override { return true; }
  void Begin(TimeNs t_ns) override {
    begin_ns_ = t_ns;
    OnBegin();
  }
  void Open(TimeNs settled_ns) override {
    open_ = true;
    at_ns_ = settled_ns;
  }
  void OnEdge(const Edge& edge, bool /*open*/) override {
    seen_ = true;
    if (waiting_.size() == kWaiting) HandOnBefore(waiting_[kWaiting / 2].t_ns);
    waiting_.push_back(edge);
    HandOnBefore(edge.t_ns - wait_ns_);
  }
  void OnOutput(const OutputEvent& event, bool /*open*/) override {
    seen_ = true;
    HandOnBefore(event.t_ns);
    Advance(event.t_ns);
    condition_.OnOutput(event);
    if (when_) when_->OnOutput(event);
  }
  void Close(TimeNs end_ns) override {
    HandOnBefore(end_ns);
    Advance(end_ns);
    OnClose(end_ns);
    open_ = false;
  }
  void OnStep() override {
    if (!open_) HandOnBefore(kNever);
  }

 protected:
  // From begin_ns to end_ns it holds, or does not, and is judged.
  virtual void Take(TimeNs begin_ns, TimeNs end_ns, bool holds) = 0;
  virtual void OnBegin() {}
  virtual void OnClose(TimeNs /*end_ns*/) {}

  TimeNs begin_ns() const { return begin_ns_; }
  bool seen() const { return seen_; }
  const LineState& condition() const { return condition_; }
  const std::optional<LineState>& when() const { return when_; }
  Verdict NothingSeen() const {
    Verdict verdict;
    verdict.outcome = Outcome::kNotObserved;
    verdict.detail = "nothing was seen at any pin of the controller";
    return verdict;
  }

 private:
  void HandOnBefore(TimeNs t_ns) {
    std::size_t done = 0;
    for (; done < waiting_.size() && waiting_[done].t_ns < t_ns; ++done) {
      Advance(waiting_[done].t_ns);
      condition_.OnEdge(waiting_[done]);
      if (when_) when_->OnEdge(waiting_[done]);
    }
    waiting_.erase(waiting_.begin(), waiting_.begin() + static_cast<std::ptrdiff_t>(done));
  }
  void Advance(TimeNs to_ns) {
    while (open_ && at_ns_ < to_ns) {
      TimeNs next_ns = std::min(to_ns, condition_.FlipNs(at_ns_));
      if (when_) next_ns = std::min(next_ns, when_->FlipNs(at_ns_));
      if (!when_ || when_->Holds(at_ns_)) Take(at_ns_, next_ns, condition_.Holds(at_ns_));
      at_ns_ = next_ns;
    }
  }

  LineState condition_;
  std::optional<LineState> when_;
  TimeNs wait_ns_;
  std::vector<Edge> waiting_;
  bool open_ = false, seen_ = false;
  TimeNs begin_ns_ = 0, at_ns_ = 0;
};

class AlwaysOrNever : public LineJudge {
 public:
  AlwaysOrNever(const Subject& subject, const profile::Condition& condition, bool always)
      : LineJudge(subject, condition), always_(always) {}

  Verdict Judgement() const override {
    if (!seen()) return NothingSeen();
    Verdict verdict = VerdictFrom(trace_, condition().text(), "");
    verdict.margin_unit = "s";
    verdict.margin = longest_ns_ > 0 ? -ToSeconds(longest_ns_) : ToSeconds(judged_ns_);
    if (judged_ns_ > 0) verdict.outcome = longest_ns_ > 0 ? Outcome::kFailed : Outcome::kMet;
    verdict.worst_ns = worst_ns_;
    verdict.detail = Detail();
    return verdict;
  }

 private:
  void Take(TimeNs begin_ns, TimeNs end_ns, bool holds) override {
    judged_ns_ += end_ns - begin_ns;
    const bool wrong = holds != always_;
    if (!wrong) since_ns_ = -1;
    if (wrong && (since_ns_ < 0 || until_ns_ != begin_ns)) since_ns_ = begin_ns;
    until_ns_ = end_ns;
    const TimeNs wrong_ns = wrong ? end_ns - since_ns_ : 0;
    if (wrong_ns > longest_ns_) {
      longest_ns_ = wrong_ns;
      worst_ns_ = since_ns_;
    }
    trace_.Add({begin_ns, holds ? 1.0 : 0.0, always_ ? 1.0 : 0.0, 0}, -ToSeconds(wrong_ns));
  }
  std::string Detail() const {
    const std::string when_text = when() ? " when " + when()->text() : "";
    if (judged_ns_ == 0)
      return fmt::format("\"{}\" was never judged:{} was never true", condition().text(),
                         when_text);
    const std::string must = fmt::format("\"{}\" must {} be true{}", condition().text(),
                                         always_ ? "always" : "never", when_text);
    if (longest_ns_ == 0) return must + fmt::format("; judged for {:.3f} s", ToSeconds(judged_ns_));
    return must +
           fmt::format("; it {} for {:.3f} s", always_ ? "was not" : "was", ToSeconds(longest_ns_));
  }

  const bool always_;
  Trace trace_;
  TimeNs judged_ns_ = 0, longest_ns_ = 0, worst_ns_ = 0;
  TimeNs since_ns_ = -1, until_ns_ = 0;  // violated; -1: not
};

class Within : public LineJudge {
 public:
  Within(const Subject& subject, const expect::Within& kind)
      : LineJudge(subject, kind.condition), within_s_(kind.within_s) {}

  Verdict Judgement() const override {
    if (!seen()) return NothingSeen();
    Verdict verdict = VerdictFrom(trace_, condition().text(), "");
    verdict.margin_unit = "s";
    const std::string allowed = fmt::format("{:.3f} s allowed", within_s_);
    verdict.detail = worst_came_ ? fmt::format("\"{}\" happened after {:.3f} s, {}",
                                               condition().text(), worst_s_, allowed)
                                 : fmt::format("\"{}\" did not happen in {:.3f} s, {}",
                                               condition().text(), worst_s_, allowed);
    if (!worst_came_ && trace_.count() > 0) verdict.outcome = Outcome::kFailed;
    return verdict;
  }

 private:
  void OnBegin() override { came_ = false; }
  void Take(TimeNs begin_ns, TimeNs /*end_ns*/, bool holds) override {
    if (holds && !came_) Settle(begin_ns, true);
    came_ = came_ || holds;
  }
  void OnClose(TimeNs end_ns) override {
    if (!came_) Settle(end_ns, false);
  }
  void Settle(TimeNs t_ns, bool came) {
    const double passed_s = ToSeconds(t_ns - begin_ns());
    const double margin = came ? within_s_ - passed_s : std::min(0.0, within_s_ - passed_s);
    if (margin < trace_.worst_margin()) {
      worst_came_ = came;
      worst_s_ = passed_s;
    }
    trace_.Add({t_ns, came ? 1.0 : 0.0, 1, 0}, margin);
  }

  const double within_s_;
  Trace trace_;
  bool came_ = false, worst_came_ = true;
  double worst_s_ = 0;
};

class ForAtLeast : public LineJudge {
 public:
  ForAtLeast(const Subject& subject, const expect::ForAtLeast& kind)
      : LineJudge(subject, kind.condition), for_s_(kind.for_s) {}

  Verdict Judgement() const override {
    if (!seen()) return NothingSeen();
    Verdict verdict = VerdictFrom(trace_, condition().text(), "");
    verdict.margin_unit = "s";
    verdict.margin = ToSeconds(longest_ns_ - FromSeconds(for_s_));
    if (trace_.count() > 0) {
      verdict.outcome = verdict.margin >= 0 ? Outcome::kMet : Outcome::kFailed;
    }
    verdict.detail = fmt::format("\"{}\" held for {:.3f} s at the longest, should be {:.3f} s",
                                 condition().text(), ToSeconds(longest_ns_), for_s_);
    return verdict;
  }

 private:
  void OnBegin() override { holds_ = false; }
  void Take(TimeNs begin_ns, TimeNs end_ns, bool holds) override {
    if (holds && !holds_) since_ns_ = begin_ns;
    holds_ = holds;
    const TimeNs held_ns = holds ? end_ns - since_ns_ : 0;
    longest_ns_ = std::max(longest_ns_, held_ns);
    trace_.Add({begin_ns, holds ? 1.0 : 0.0, 1, 0}, -ToSeconds(held_ns));
  }

  const double for_s_;
  Trace trace_;
  bool holds_ = false;
  TimeNs since_ns_ = 0, longest_ns_ = 0;
};

}  // namespace

bool IsOnLines(const profile::Condition& condition) {
  return condition.looks_at != profile::LooksAt::kReported;
}

JudgePtr MakeLineJudge(const Subject& subject, const expect::Always& kind) {
  return std::make_unique<AlwaysOrNever>(subject, kind.condition, true);
}
JudgePtr MakeLineJudge(const Subject& subject, const expect::Never& kind) {
  return std::make_unique<AlwaysOrNever>(subject, kind.condition, false);
}
JudgePtr MakeLineJudge(const Subject& subject, const expect::Within& kind) {
  return std::make_unique<Within>(subject, kind);
}
JudgePtr MakeLineJudge(const Subject& subject, const expect::ForAtLeast& kind) {
  return std::make_unique<ForAtLeast>(subject, kind);
}

}  // namespace drycrank::check
