// SPDX-License-Identifier: Apache-2.0
//
// order: after each cylinder's output comes that of the next in the engine's firing order; of two
//   that fire at one angle either may be first. A controller that fires in pairs fires each in every
//   turn: the order is then that of their angles within the turn. Margin in events: less the number of wrong ones, or
//   all those judged when none was.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "check/evidence.h"
#include "check/judge.h"
#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::check {
namespace {

class FiringOrder : public EventJudge {
 public:
  FiringOrder(const Subject& subject, OutputKind output) : output_(output) {
    const profile::Engine& engine = subject.bench.engine;
    const double cycle_deg = FiringCycleDeg(subject.bench);
    for (std::size_t i = 0; i < engine.firing_order.size(); ++i) {
      places_.push_back({engine.firing_order[i], WrapDeg(engine.firing_angles_deg[i], cycle_deg)});
      order_.push_back(engine.firing_order[i]);
    }
    if (cycle_deg == engine.cycle_deg()) return;
    std::ranges::stable_sort(places_, {}, &FiringPlace::deg);
    std::ranges::transform(places_, order_.begin(), &FiringPlace::cylinder);
  }

  bool WatchesOutputs() const override { return true; }
  void Open(TimeNs /*settled_ns*/) override { last_ = -1; }
  void OnOutput(const OutputEvent& event, bool open) override {
    // A spark is a coil going off, an injection begins when its injector goes on.
    if (!open || event.kind != output_ || event.on != (output_ == OutputKind::kInjector)) return;
    const auto found = std::ranges::find(order_, event.cylinder);
    const int place = static_cast<int>(found - order_.begin());
    const bool wrong = found == order_.end() || (last_ >= 0 && !Follows(place));
    if (wrong && wrong_++ == 0) {
      after_ = Nth(order_, last_ < 0 ? 0 : last_);
      came_ = event.cylinder;
      due_ = Nth(order_, Next(std::max(last_, 0)));
    }
    trace_.Add({event.t_ns, static_cast<double>(event.cylinder), 0, 0}, wrong ? -1 : 0);
    if (found != order_.end()) last_ = place;
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
  struct FiringPlace {
    int cylinder = 0;
    double deg = 0;
  };
  int Next(int place) const { return (place + 1) % static_cast<int>(order_.size()); }
  double AngleDeg(int place) const { return Nth(places_, place).deg; }
  // The next place at another angle than this one.
  int NextAngle(int place) const {
    int next = Next(place);
    while (next != place && AngleDeg(next) == AngleDeg(place)) next = Next(next);
    return next;
  }
  bool Follows(int place) const {
    if (place == Next(last_)) return true;
    return place != last_ && (AngleDeg(place) == AngleDeg(last_) ||
                              AngleDeg(place) == AngleDeg(NextAngle(last_)));
  }
  std::string Word() const {
    if (output_ == OutputKind::kTrailingCoil) return "trailing spark";
    return output_ == OutputKind::kCoil ? "spark" : "injection";
  }
  std::string Detail() const {
    if (trace_.count() == 0) return fmt::format("no {} was seen while this was judged", Word());
    const auto order = fmt::format("{}", fmt::join(order_, "-"));
    if (wrong_ == 0) return fmt::format("{} {}s in the order {}", trace_.count(), Word(), order);
    return fmt::format("after cylinder {} came {}, should be {} (order {}); {} of {} {}s wrong",
                       after_, came_, due_, order, wrong_, trace_.count(), Word());
  }

  std::vector<FiringPlace> places_;
  std::vector<int> order_;  // their cylinders
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
