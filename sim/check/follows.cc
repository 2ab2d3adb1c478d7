// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include "bus/layout.h"
#include "check/evidence.h"
#include "check/judge.h"
#include "check/value_words.h"
#include "check/wanted.h"
#include "types/unit.h"

namespace drycrank::check {
namespace {

// At each reception: margin = tolerance - |reported - wanted|, see wanted.h for the band.
class Follows : public Judge {
 public:
  Follows(const Subject& subject, const expect::Follows& kind)
      : at_(kind.signal),
        message_(MessageAt(subject.bench, MessageOf(at_))),
        signal_(SignalAt(subject.bench, at_)),
        quantity_(Quantity(subject.bench, at_)),
        wanted_(subject, kind.target, signal_.unit,
                ToleranceIn(subject.bench, kind.target, signal_.unit), message_.period_ms) {}

  std::vector<profile::MessageRef> Messages() const override { return {MessageOf(at_)}; }
  void OnStep() override { wanted_.Update(); }
  bool NeedsReports() const override { return true; }
  void OnFrame(const profile::MessageRef& /*message*/, const bus::TimedFrame& frame) override {
    if (!wanted_.comparable()) return;
    const auto value = bus::Measured(message_, at_.signal, frame.frame);
    if (!value) {
      ++unmeasured_;
      return;
    }
    const TracePoint point = wanted_.Compare(frame.t_ns, *value);
    const double margin = MarginOf(point);
    if (margin < 0) ++outside_;
    trace_.Add(point, margin);
  }
  Verdict Judgement() const override {
    Verdict verdict = VerdictFrom(trace_, quantity_, wanted_.unit());
    verdict.detail = Detail();
    return verdict;
  }

 private:
  std::string Detail() const {
    if (!wanted_.comparable()) {
      return fmt::format("{} is in {}, which its stimulus cannot be converted to", quantity_,
                         DisplayUnit(signal_.unit));
    }
    if (trace_.count() == 0) return NotReceived(quantity_, unmeasured_);
    const TracePoint& worst = trace_.worst();
    const int decimals = DecimalsFor(signal_);
    const std::string text = fmt::format("reported {}, should be {}",
                                         NumberText(worst.reported, decimals, wanted_.unit()),
                                         wanted_.Due(worst, decimals));
    if (outside_ == 0) return fmt::format("at worst {}", text);
    return fmt::format("{}; {} of {} messages received outside the tolerance", text, outside_,
                       trace_.count());
  }

  const profile::SignalRef at_;
  const profile::Message& message_;
  const profile::Signal& signal_;
  const std::string quantity_;
  Wanted wanted_;
  Trace trace_;
  std::uint64_t outside_ = 0, unmeasured_ = 0;
};

}  // namespace

JudgePtr MakeJudge(const Subject& subject, const expect::Follows& kind) {
  return std::make_unique<Follows>(subject, kind);
}

}  // namespace drycrank::check
