// SPDX-License-Identifier: Apache-2.0
//
// However slowly a message comes, each step that it is judged in lasts for two of them behind the time to
// settle. The generator sends coolant and oil pressure once a second, boost each half.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "profile/load.h"
#include "walk/walk.h"

namespace drycrank::walk {
namespace {

double PeriodS(const profile::Bench& bench, const profile::Expectation& e) {
  const auto* follows = std::get_if<profile::expect::Follows>(&e.kind);
  const profile::Condition* condition = profile::ConditionOf(e.kind);
  if (follows == nullptr && condition == nullptr) return 0;
  const profile::SignalRef at = follows != nullptr ? follows->signal : condition->signal;
  return profile::MessageAt(bench, {at.bus, at.message}).period_ms / 1000;
}

class SlowMessages : public testing::TestWithParam<double> {};

TEST_P(SlowMessages, AreWaitedForTwice) {
  profile::LoadedBench loaded = profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/generator.yaml");
  for (profile::Bus& bus : loaded.bench->buses) {
    for (profile::Message& message : bus.messages) message.period_ms *= GetParam();
  }
  const Walk walk = MakeWalk(*loaded.bench);
  int slow = 0;
  for (const profile::Expectation& e : walk.scenario.expectations) {
    const double period_s = PeriodS(*loaded.bench, e);
    slow += period_s >= 1;
    for (const profile::Step& step : walk.scenario.steps) {
      // Back at rest and standing still are on the way to the next step.
      const bool between = step.name.ends_with("_back") || step.name.starts_with("stopped_");
      const bool own = e.name.starts_with(step.name.substr(0, step.name.rfind('_')) + "_");
      const bool during = std::ranges::count(e.during, step.name) > 0;
      if (between || !(own || during || step.name == "at_rest")) continue;
      EXPECT_GE(step.for_s, e.settle_s + 2 * period_s) << e.name << " in " << step.name;
    }
  }
  EXPECT_GE(slow, 1);
}

INSTANTIATE_TEST_SUITE_P(Walk, SlowMessages, testing::Values(1, 3));

}  // namespace
}  // namespace drycrank::walk
