// SPDX-License-Identifier: Apache-2.0
//
// controller_reads: the run asks the controller what it thinks the quantity is; each answer has
// margin = tolerance - |answered - wanted|, with the band of wanted.h for an answer of up to 50 ms.
// A question that was refused or never answered fails it too (margin 0 at most).
#include <fmt/format.h>

#include <algorithm>

#include "check/evidence.h"
#include "check/judge.h"
#include "check/overhear.h"
#include "check/value_words.h"
#include "check/wanted.h"
#include "protocol/obd.h"
#include "types/unit.h"

namespace drycrank::check {
namespace {

constexpr double kHalfAnswerMs = 25;  // wanted.h doubles it

const profile::Pid& PidOf(const profile::Question& question) {
  static constexpr profile::Pid kUnknown;
  const profile::Pid* pid = profile::FindPid(question.pid);
  return pid == nullptr ? kUnknown : *pid;
}

class ControllerReads : public Judge {
 public:
  ControllerReads(const Subject& subject, const expect::ControllerReads& kind)
      : pid_(PidOf(kind.question)),
        talk_(subject.bench, kind.question),
        wanted_(subject, kind.target, std::string(pid_.unit),
                ToleranceIn(subject.bench, kind.target, pid_.unit), kHalfAnswerMs) {}

  std::vector<profile::MessageRef> Messages() const override { return {}; }
  std::vector<Identifier> Identifiers() const override { return talk_.Identifiers(); }
  void OnStep() override { wanted_.Update(); }
  void Open(TimeNs /*settled_ns*/) override { talk_.Open(); }
  void OnFrame(const profile::MessageRef& /*message*/, const bus::TimedFrame& frame) override {
    const auto answer = talk_.OnFrame(frame);
    if (!answer || !wanted_.comparable()) return;
    const auto value = protocol::ReadPid(*answer, pid_);
    if (!value) return;
    const TracePoint point = wanted_.Compare(frame.t_ns, *value);
    const double margin = MarginOf(point);
    if (margin < 0) ++outside_;
    trace_.Add(point, margin);
  }
  void Close(TimeNs end_ns) override { talk_.Close(end_ns); }
  // A question whose answer was not yet due is forgotten.
  void Pause(TimeNs t_ns, bool open) override {
    if (open) talk_.Close(t_ns);
  }
  void Resume(TimeNs /*settled_ns*/) override { talk_.Open(); }

  Verdict Judgement() const override {
    const std::string quantity =
        fmt::format("PID {:02X} {}", pid_.pid, pid_.name.empty() ? "unknown" : pid_.name);
    Verdict verdict = VerdictFrom(trace_, quantity, wanted_.unit());
    if (trace_.count() > 0 && !talk_.Trouble().empty()) {
      verdict.outcome = Outcome::kFailed;
      verdict.margin = std::min(verdict.margin, 0.0);
    }
    verdict.detail = Detail();
    return verdict;
  }

 private:
  std::string Detail() const {
    if (!wanted_.comparable()) return "its stimulus cannot be converted to the parameter's unit";
    if (trace_.count() == 0) return talk_.Silence();
    const TracePoint& worst = trace_.worst();
    const int decimals = pid_.scale < 0.05 ? 2 : 1;
    std::string detail = fmt::format(
        "{}answered {}, should be {}", outside_ == 0 ? "at worst " : "",
        NumberText(worst.reported, decimals, wanted_.unit()), wanted_.Due(worst, decimals));
    if (outside_ > 0) {
      detail += fmt::format("; {} of {} answers outside the tolerance", outside_, trace_.count());
    }
    const std::string trouble = talk_.Trouble();
    return trouble.empty() ? detail : detail + "; " + trouble;
  }

  const profile::Pid& pid_;
  Overhear talk_;
  Wanted wanted_;
  Trace trace_;
  std::uint64_t outside_ = 0;
};

}  // namespace

JudgePtr MakeJudge(const Subject& subject, const expect::ControllerReads& kind) {
  return std::make_unique<ControllerReads>(subject, kind);
}

}  // namespace drycrank::check
