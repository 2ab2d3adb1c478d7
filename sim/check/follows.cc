// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include "bus/layout.h"
#include "check/evidence.h"
#include "check/judge.h"
#include "check/text.h"
#include "check/wanted.h"
#include "types/unit.h"

namespace drycrank::check {
namespace {

// The tolerance is written in the stimulus' unit, and judged in the signal's.
double ToleranceOf(const Subject& subject, const std::string& unit) {
  const profile::Expectation& expectation = subject.expectation;
  if (expectation.stimulus < 0 || unit.empty()) return expectation.tolerance;
  const auto& from = subject.bench.stimuli[static_cast<std::size_t>(expectation.stimulus)].unit;
  return ConvertDifference(expectation.tolerance, from, unit).value_or(expectation.tolerance);
}

// At each reception: margin = tolerance - |reported - wanted|, see wanted.h for the band.
class Follows : public Judge {
 public:
  explicit Follows(const Subject& subject)
      : subject_(subject),
        message_(MessageAt(subject.bench, MessageOf(subject.expectation.signal))),
        signal_(SignalAt(subject.bench, subject.expectation.signal)),
        wanted_(subject, signal_.unit, ToleranceOf(subject, signal_.unit), message_.period_ms) {}

  std::vector<profile::MessageRef> Messages() const override {
    return {MessageOf(subject_.expectation.signal)};
  }
  void OnStep() override { wanted_.Update(); }
  void OnFrame(const profile::MessageRef& /*message*/, const bus::TimedFrame& frame) override {
    if (!wanted_.comparable()) return;
    const auto value = bus::Decode(message_, subject_.expectation.signal.signal, frame.frame);
    if (!value) return;
    const TracePoint point = wanted_.Compare(frame.t_ns, *value);
    const double margin = MarginOf(point);
    if (margin < 0) ++outside_;
    trace_.Add(point, margin);
  }
  Verdict Judgement() const override {
    const std::string quantity = Quantity(subject_.bench, subject_.expectation.signal);
    Verdict verdict = VerdictFrom(trace_, quantity, wanted_.unit());
    verdict.detail = Detail(quantity);
    return verdict;
  }

 private:
  std::string Detail(const std::string& quantity) const {
    if (!wanted_.comparable()) {
      return fmt::format("{} is in {}, which its stimulus cannot be converted to", quantity,
                         DisplayUnit(signal_.unit));
    }
    if (trace_.count() == 0) return NotReceived(quantity);
    const TracePoint& worst = trace_.worst();
    const int decimals = DecimalsFor(signal_);
    const std::string text = fmt::format("reported {}, should be {}",
                                         NumberText(worst.reported, decimals, wanted_.unit()),
                                         wanted_.Due(worst, decimals));
    if (outside_ == 0) return fmt::format("at worst {}", text);
    return fmt::format("{}; {} of {} messages received outside the tolerance", text, outside_,
                       trace_.count());
  }

  Subject subject_;
  const profile::Message& message_;
  const profile::Signal& signal_;
  Wanted wanted_;
  Trace trace_;
  std::uint64_t outside_ = 0;
};

}  // namespace

std::unique_ptr<Judge> MakeFollows(const Subject& subject) {
  return std::make_unique<Follows>(subject);
}

}  // namespace drycrank::check
