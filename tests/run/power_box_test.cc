// SPDX-License-Identifier: Apache-2.0
//
// The shipped scenario in which the bilge fan jams, by hand from its YAML and its bench: 20 A from 1 s on
// in a channel that is rated 15 A, trips after 200 ms, tries again after 1 s, once: tripped at 1.2 s, on at
// 2.2 s, tripped at 2.4 s; the key is pressed, and the fan freed, at 2.8 s. The box tells it 3 ms
// after each whole 50 ms, all of which these are.
#include <gtest/gtest.h>

#include "run/runner.h"
#include "tests/run/loaded.h"

namespace drycrank::run {
namespace {

constexpr double kOn = 1, kTripped = 2;  // words of the gauge

class PowerBox : public testing::Test {
 protected:
  double ShownAt(Runner& runner, std::int64_t ms) {
    runner.RunTo(ms * kNsPerMs);
    return runner.display()->Value(runner.display()->ValueIndex("fan.shown"));
  }
};

TEST_F(PowerBox, TheDisplayShowsEachTripAndTheResetInTime) {
  const profile::LoadedScenario loaded = Shipped("hovercraft/fan_jams");
  Runner runner(*loaded.bench, *loaded.scenario, {});
  runner.Start();
  EXPECT_EQ(ShownAt(runner, 500), kOn);
  EXPECT_EQ(ShownAt(runner, 1199), kOn);
  EXPECT_EQ(ShownAt(runner, 1205), kTripped);
  EXPECT_EQ(ShownAt(runner, 2199), kTripped);
  EXPECT_EQ(ShownAt(runner, 2205), kOn);
  EXPECT_EQ(ShownAt(runner, 2399), kOn);
  EXPECT_EQ(ShownAt(runner, 2405), kTripped);
  EXPECT_EQ(ShownAt(runner, 2799), kTripped);
  EXPECT_EQ(ShownAt(runner, 2805), kOn);
}

TEST_F(PowerBox, AFanBelowWhatTheChannelIsRatedForDoesNotTrip) {
  const profile::LoadedScenario loaded = Shipped("hovercraft/fan_rated_too_high");
  Runner runner(*loaded.bench, *loaded.scenario, {});
  runner.Start();
  for (const std::int64_t ms : {500, 1205, 2405, 2805}) EXPECT_EQ(ShownAt(runner, ms), kOn) << ms;
}

}  // namespace
}  // namespace drycrank::run
