// SPDX-License-Identifier: Apache-2.0
//
// trouble_code: the controller's stored codes (DM1: active ones) have this one within within_s of
// the begin of each judged stretch. margin = within_s - time taken, s; it counts from the begin of
// the step, as `within` does. no_trouble_codes: no list that it gives has any. margin in lists:
// less the number of lists with codes, or all those seen. A question that was refused or never
// answered fails it too.
#include <fmt/format.h>

#include <algorithm>
#include <string>

#include "check/evidence.h"
#include "check/judge.h"
#include "check/overhear.h"
#include "protocol/obd.h"
#include "protocol/trouble.h"

namespace drycrank::check {
namespace {

// The codes in an answer: how many, is the wanted one there, and the first ones in words.
struct Seen {
  std::size_t count = 0;
  bool has_wanted = false;
  std::array<std::uint32_t, 3> first{};
};

void Note(Seen& seen, std::uint32_t code, std::uint32_t wanted) {
  if (seen.count < seen.first.size()) seen.first[seen.count] = code;
  ++seen.count;
  seen.has_wanted = seen.has_wanted || code == wanted;
}

std::optional<Seen> ReadSeen(const profile::Question& question,
                             std::span<const std::uint8_t> answer) {
  Seen seen;
  if (question.over == profile::Dialect::kDm1) {
    const auto view = protocol::ReadTroubles(answer);
    if (!view) return std::nullopt;
    for (std::size_t i = 0; i < view->size(); ++i) {
      const protocol::SpnTrouble trouble = (*view)[i];
      const bool filler = trouble.spn == 0x7FFFF && trouble.fmi == 31;
      if (!filler) Note(seen, profile::SpnFmi(trouble.spn, trouble.fmi), question.code);
    }
    return seen;
  }
  const auto codes = protocol::ReadCodes(answer);
  if (!codes) return std::nullopt;
  for (std::size_t i = 0; i < codes->size(); ++i) Note(seen, (*codes)[i], question.code);
  return seen;
}

std::string Words(const profile::Question& question, const Seen& seen) {
  if (seen.count == 0) return "none";
  std::string text;
  for (std::size_t i = 0; i < std::min(seen.count, seen.first.size()); ++i) {
    if (i > 0) text += ", ";
    text += question.over == profile::Dialect::kDm1
                ? profile::SpnFmiText(seen.first[i])
                : profile::TroubleCodeText(static_cast<std::uint16_t>(seen.first[i]));
  }
  if (seen.count > seen.first.size()) text += fmt::format(" and {} more", seen.count - 3);
  return text;
}

class Troubles : public Judge {
 public:
  // Without within_s: no list may have any.
  Troubles(const Subject& subject, const profile::Question& question,
           std::optional<double> within_s)
      : question_(question),
        none_(!within_s),
        within_s_(within_s.value_or(0)),
        talk_(subject.bench, question_) {}

  std::vector<profile::MessageRef> Messages() const override { return {}; }
  std::vector<Identifier> Identifiers() const override { return talk_.Identifiers(); }
  void Begin(TimeNs t_ns) override {
    begin_ns_ = t_ns;
    true_ = interrupted_ = false;
  }
  void Open(TimeNs /*settled_ns*/) override { talk_.Open(); }
  // A question whose answer was not yet due is forgotten; a code may be stored unseen.
  void Pause(TimeNs t_ns, bool open) override {
    if (open) talk_.Close(t_ns);
    interrupted_ = interrupted_ || ToSeconds(t_ns - begin_ns_) < within_s_;
  }
  void Resume(TimeNs /*settled_ns*/) override { talk_.Open(); }
  void Abandon(TimeNs end_ns) override { Close(end_ns); }
  void OnFrame(const profile::MessageRef& /*message*/, const bus::TimedFrame& frame) override {
    const auto answer = talk_.OnFrame(frame);
    const auto seen = answer ? ReadSeen(question_, *answer) : std::nullopt;
    if (!seen) return;
    if (none_) {
      AddList(frame.t_ns, *seen);
    } else {
      AddLook(frame.t_ns, *seen);
    }
  }
  void Close(TimeNs end_ns) override {
    talk_.Close(end_ns);
    if (none_ || true_) return;
    if (interrupted_) {
      undecided_ = true;
      return;
    }
    Settle(std::min(0.0, within_s_ - ToSeconds(end_ns - begin_ns_)), end_ns, false);
  }

  Verdict Judgement() const override {
    Verdict verdict = VerdictFrom(trace_, none_ ? "trouble codes" : question_.text, "");
    if (none_) {
      verdict.margin_unit = "lists";
      verdict.margin =
          wrong_ > 0 ? -static_cast<double>(wrong_) : static_cast<double>(trace_.count());
    } else {
      verdict.margin_unit = "s";
      verdict.margin = settled_ ? margin_ : 0;
      verdict.worst_ns = worst_ns_;
      verdict.outcome = trace_.count() == 0          ? Outcome::kNotObserved
                        : came_true_ && margin_ >= 0 ? Outcome::kMet
                                                     : Outcome::kFailed;
      const bool failed = settled_ && verdict.outcome == Outcome::kFailed;
      if (undecided_ && !failed) verdict.outcome = Outcome::kNotObservable;
    }
    if (trace_.count() > 0 && !talk_.Trouble().empty()) {
      verdict.outcome = Outcome::kFailed;
      verdict.margin = std::min(verdict.margin, 0.0);
    }
    verdict.detail = Detail();
    return verdict;
  }

 private:
  void AddList(TimeNs t_ns, const Seen& seen) {
    const bool right = seen.count == 0;
    if (!right) {
      ++wrong_;
      last_ = seen;
    }
    trace_.Add({t_ns, static_cast<double>(seen.count), 0, 0}, right ? 0 : -1);
  }
  void AddLook(TimeNs t_ns, const Seen& seen) {
    const double margin = within_s_ - ToSeconds(t_ns - begin_ns_);
    trace_.Add({t_ns, seen.has_wanted ? 1.0 : 0.0, 1, 0}, margin);
    last_ = seen;
    if (true_ || !seen.has_wanted) return;
    true_ = true;
    if (interrupted_ && margin < 0) {
      undecided_ = true;
    } else {
      Settle(margin, t_ns, true);
    }
  }
  // One stretch has been decided; the worst of them is the verdict.
  void Settle(double margin, TimeNs t_ns, bool came_true) {
    came_true_ = came_true && (came_true_ || !settled_);
    if (settled_ && margin >= margin_) return;
    settled_ = true;
    margin_ = margin;
    worst_ns_ = t_ns;
    taken_s_ = ToSeconds(t_ns - begin_ns_);
  }
  std::string Detail() const {
    if (trace_.count() == 0) return talk_.Silence();
    const std::string trouble = talk_.Trouble();
    const std::string more = trouble.empty() ? "" : "; " + trouble;
    if (none_) {
      if (wrong_ == 0) return fmt::format("no code in {} lists", trace_.count()) + more;
      return fmt::format("{} of {} lists have codes; last {}", wrong_, trace_.count(),
                         Words(question_, last_)) +
             more;
    }
    if (came_true_) {
      return fmt::format("{} stored after {:.3f} s, {:.3f} allowed", question_.text, taken_s_,
                         within_s_) +
             more;
    }
    return fmt::format("no {} in {:.3f} s, {:.3f} allowed; last list: {}", question_.text, taken_s_,
                       within_s_, Words(question_, last_)) +
           more;
  }

  const profile::Question& question_;
  const bool none_;
  const double within_s_;
  Overhear talk_;
  Trace trace_;
  Seen last_;
  TimeNs begin_ns_ = 0;
  bool true_ = false;
  bool interrupted_ = false;  // in this stretch, while it could still come true in time
  bool undecided_ = false;
  bool settled_ = false, came_true_ = false;
  double margin_ = 0, taken_s_ = 0;
  TimeNs worst_ns_ = 0;
  std::uint64_t wrong_ = 0;
};

}  // namespace

JudgePtr MakeJudge(const Subject& subject, const expect::TroubleCode& kind) {
  return std::make_unique<Troubles>(subject, kind.question, kind.within_s);
}
JudgePtr MakeJudge(const Subject& subject, const expect::NoTroubleCodes& kind) {
  return std::make_unique<Troubles>(subject, kind.question, std::nullopt);
}

}  // namespace drycrank::check
