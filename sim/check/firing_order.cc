// SPDX-License-Identifier: Apache-2.0
//
// order: after each cylinder's output comes that of the next in the engine's firing order; of two
//   that fire at one angle either may be first. Margin in events: less the number of wrong ones, or
//   all those judged when none was.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "check/evidence.h"
#include "check/judge.h"
#include "types/nth.h"

namespace drycrank::check {
namespace {

class FiringOrder : public EventJudge {
 public:
  FiringOrder(const Subject& subject, OutputKind output)
      : engine_(subject.bench.engine), output_(output) {}

  bool WatchesOutputs() const override { return true; }
  void Open(TimeNs /*settled_ns*/) override { last_ = -1; }
  void OnOutput(const OutputEvent& event, bool open) override {
    // A spark is a coil going off, an injection begins when its injector goes on.
    if (!open || event.kind != output_ || event.on != (output_ == OutputKind::kInjector)) return;
    const auto found = std::ranges::find(engine_.firing_order, event.cylinder);
    const int place = static_cast<int>(found - engine_.firing_order.begin());
    const bool wrong = found == engine_.firing_order.end() || (last_ >= 0 && !Follows(place));
    if (wrong && wrong_++ == 0) {
      after_ = Nth(engine_.firing_order, last_ < 0 ? 0 : last_);
      came_ = event.cylinder;
      due_ = Nth(engine_.firing_order, Next(std::max(last_, 0)));
    }
    trace_.Add({event.t_ns, static_cast<double>(event.cylinder), 0, 0}, wrong ? -1 : 0);
    if (found != engine_.firing_order.end()) last_ = place;
  }
  Verdict Judgement() const override {
    Verdict verdict = VerdictFrom(trace_, Word() + " of cylinder", "");
    verdict.margin_unit = "events";
    verdict.margin =
        wrong_ > 0 ? 0 - static_cast<double>(wrong_) : static_cast<double>(trace_.count());
    verdict.detail = Detail();
    return verdict;
  }

 private:
  int Next(int place) const { return (place + 1) % static_cast<int>(engine_.firing_order.size()); }
  double AngleDeg(int place) const { return Nth(engine_.firing_angles_deg, place); }
  bool Follows(int place) const {
    if (place == Next(last_)) return true;
    return place != last_ && AngleDeg(place) == AngleDeg(Next(last_));
  }
  std::string Word() const { return output_ == OutputKind::kCoil ? "spark" : "injection"; }
  std::string Detail() const {
    if (trace_.count() == 0) return fmt::format("no {} was seen while this was judged", Word());
    const auto order = fmt::format("{}", fmt::join(engine_.firing_order, "-"));
    if (wrong_ == 0) return fmt::format("{} {}s in the order {}", trace_.count(), Word(), order);
    return fmt::format("after cylinder {} came {}, should be {} (order {}); {} of {} {}s wrong",
                       after_, came_, due_, order, wrong_, trace_.count(), Word());
  }

  const profile::Engine& engine_;
  const OutputKind output_;
  int last_ = -1;  // place in the firing order
  Trace trace_;
  std::uint64_t wrong_ = 0;
  int after_ = 0, came_ = 0, due_ = 0;
};

}  // namespace

JudgePtr MakeJudge(const Subject& subject, const expect::Order& kind) {
  return std::make_unique<FiringOrder>(subject, kind.output);
}

}  // namespace drycrank::check
