// SPDX-License-Identifier: Apache-2.0
//
// A margin grows with the tolerance: tried with values that RapidCheck makes.
#include "bus/layout.h"
#include "check/checker.h"
#include "tests/properties/law.h"
#include "tests/run/loaded.h"
#include "types/nth.h"

namespace drycrank {
namespace {

class Judged {
 public:
  Judged() : loaded_(run::Shipped("hill_climb/healthy")) {
    auto& expectations = loaded_.scenario->expectations;
    std::erase_if(expectations, [](const profile::Expectation& e) {
      return !std::holds_alternative<profile::expect::Follows>(e.kind);
    });
    expectations.resize(1);
    expectations[0].during.clear();
    expectations[0].settle_s = 0;
  }
  profile::expect::Follows& Follows() {
    return std::get<profile::expect::Follows>(loaded_.scenario->expectations[0].kind);
  }
  check::Verdict With(double tolerance, const std::vector<double>& reported) {
    Follows().target.tolerance = tolerance;
    scenario::Timeline timeline(*loaded_.bench, *loaded_.scenario);
    check::Checker checker(*loaded_.bench, *loaded_.scenario, timeline);
    timeline.BeginStep(0, 0);
    checker.OnStep(0, 0);
    const auto& ref = Follows().signal;
    const profile::Bus& bus = Nth(loaded_.bench->buses, ref.bus);
    const profile::Message& message = Nth(bus.messages, ref.message);
    TimeNs t_ns = 0;
    for (const double value : reported) {
      std::vector<double> physical(message.signals.size(), 0);
      Nth(physical, ref.signal) = value;
      t_ns += 10 * kNsPerMs;
      checker.OnFrame({t_ns, ref.bus, false, bus::Encode(message, physical, 0)});
    }
    checker.Finish(t_ns);
    return checker.verdicts()[0];
  }

 private:
  profile::LoadedScenario loaded_;
};

// judge(judged, tolerance, reported values).
auto MoreToleranceIsNeverWorse(auto judge) {
  return [judge] {
    static Judged judged;
    const auto values = *rc::gen::nonEmpty(rc::gen::container<std::vector<double>>(
        rc::gen::map(rc::gen::inRange(0, 2000), [](int v) { return 0.1 * v; })));
    const double tight = 0.1 * *rc::gen::inRange(1, 1000);
    const double wide = tight + 0.1 * *rc::gen::inRange(0, 1000);
    const check::Verdict first = judge(judged, tight, values), second = judge(judged, wide, values);
    RC_PRE(check::WasJudged(first.outcome));
    RC_ASSERT(second.margin >= first.margin - 1e-9);
    RC_ASSERT(first.outcome != check::Outcome::kMet || second.outcome == check::Outcome::kMet);
  };
}

TEST(MarginLaw, MoreToleranceIsNeverWorse) {
  const auto judge = [](Judged& judged, double tolerance, const auto& values) {
    return judged.With(tolerance, values);
  };
  EXPECT_TRUE(Holds(MoreToleranceIsNeverWorse(judge)));
  EXPECT_TRUE(IsRefuted(
      MoreToleranceIsNeverWorse([&](Judged& judged, double tolerance, const auto& values) {
        return judge(judged, 200.1 - tolerance, values);
      })));
}

}  // namespace
}  // namespace drycrank
