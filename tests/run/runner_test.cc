// SPDX-License-Identifier: Apache-2.0
#include "run/runner.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <map>
#include <vector>

#include "bus/inproc_bus.h"
#include "bus/layout.h"
#include "profile/triggers.h"
#include "study/play.h"
#include "tests/run/loaded.h"
#include "types/clock.h"

namespace drycrank::run {
namespace {

using testing::Contains;
using testing::DoubleNear;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::Pair;

class RunnerTest : public testing::Test {
 protected:
  RunnerTest() {
    scenario_.steps.resize(1);
    scenario_.steps[0].name = "live";
    scenario_.steps[0].for_s = 100;
    options_.endless = true;
  }
  double Shown(const Runner& runner, const char* gauge) {
    return runner.display()->Value(runner.display()->ValueIndex(gauge));
  }

  profile::LoadedScenario loaded_ = Shipped("hill_climb/healthy");
  const profile::Bench& bench_ = *loaded_.bench;
  profile::Scenario scenario_;
  RunOptions options_;
};

// 25 psi of boost: 172.369 kPa (NIST SP 811) + 101.325 kPa = 273.7 kPa absolute, common practice.
TEST_F(RunnerTest, TwentyFivePsiOfBoostReads273Point7OnTheDisplay) {
  Runner runner(bench_, scenario_, options_);
  runner.Start();
  runner.Override(profile::IndexOf(bench_.stimuli, "boost_pressure"), 25 * 6.894757293168361);
  runner.RunTo(kNsPerS);
  EXPECT_NEAR(Shown(runner, "manifold.shown"), 273.7, 0.3);
}

TEST_F(RunnerTest, AFaultByHandComesAndGoes) {
  Runner runner(bench_, scenario_, options_);
  runner.Start();
  runner.Override(profile::IndexOf(bench_.stimuli, "coolant_temperature"), 90);
  runner.RunTo(kNsPerS);
  EXPECT_NEAR(Shown(runner, "coolant.shown"), 90, 1);
  profile::Fault fault;
  fault.name = "open";
  fault.kind = profile::fault::Open{};
  fault.at = "CLT.1";
  runner.AddFault(fault);
  EXPECT_THAT(runner.FaultsInForce(), ElementsAre("open"));
  runner.RunTo(2 * kNsPerS);
  EXPECT_NEAR(Shown(runner, "coolant.shown"), 80, 1);  // the controller's fallback
  EXPECT_TRUE(runner.RemoveFault("open"));
  EXPECT_FALSE(runner.RemoveFault("open"));
  EXPECT_THAT(runner.FaultsInForce(), IsEmpty());
  runner.RunTo(3 * kNsPerS);
  EXPECT_NEAR(Shown(runner, "coolant.shown"), 90, 1);
}

TEST_F(RunnerTest, ARealDisplayIsFedOverItsBus) {
  VirtualClock clock;
  auto hub = std::make_shared<bus::InprocHub>(clock);
  bus::InprocBus ours(hub), theirs(hub);
  options_.display = false;
  options_.interfaces = {&ours};
  Runner runner(bench_, scenario_, options_);
  runner.Start();
  runner.RunTo(kNsPerS);
  std::map<std::uint32_t, int> seen;
  while (const auto frame = theirs.Receive()) ++seen[frame->frame.id];
  EXPECT_EQ(seen[0x120], 101);       // engine_fast, every 10 ms from 0 to 1 s
  EXPECT_EQ(seen.count(0x510), 0u);  // the display's own
}

TEST_F(RunnerTest, FramesFromOutsideReachTheCheckerAndTheDisplay) {
  VirtualClock clock;
  auto hub = std::make_shared<bus::InprocHub>(clock);
  bus::InprocBus ours(hub), theirs(hub);
  options_.controller = false;
  options_.interfaces = {&ours};
  Runner runner(bench_, scenario_, options_);
  runner.Start();
  const profile::MessageRef at = profile::FindMessage(bench_, "engine_temps");
  const profile::Message& message = bench_.buses[0].messages[static_cast<std::size_t>(at.message)];
  std::vector<double> values(message.signals.size(), 0);
  values[0] = 77;  // coolant
  theirs.Send(bus::Encode(message, values, 0));
  runner.Poll(10 * kNsPerMs);
  runner.RunTo(20 * kNsPerMs);
  EXPECT_EQ(Shown(runner, "coolant.shown"), 77);
}

TEST_F(RunnerTest, OfTwoSpeedsGivenAtOneInstantTheLaterOneCounts) {
  Runner runner(bench_, scenario_, options_);
  runner.Start();
  runner.Override(0, 3000);  // and that at the instant at which the step began
  runner.Override(0, 1500);
  runner.RunTo(2 * kNsPerS);
  EXPECT_NEAR(Shown(runner, "speed.shown"), 1500, 2);
}

// A Hall sensor that pulls low between teeth, on a controller that expects the other kind, and on
// one that was told. Tooth 1 of 40 crank degrees begins where it should, when it is known as such.
TEST_F(RunnerTest, TheCamsPolarityMustBeTheOneThatTheControllerWasTold) {
  const auto angle = [this] {
    Runner runner(bench_, scenario_, options_);
    runner.Start();
    runner.Override(0, 1500);
    runner.RunTo(2 * kNsPerS);
    const auto state = runner.controller()->sync_state();
    const double deg =
        runner.controller()->Value(runner.controller()->ValueIndex("cam_angle.cam_intake"));
    return std::pair(state == standin::SyncState::kSynchronised, deg);
  };
  EXPECT_THAT(angle(), Pair(true, DoubleNear(0, 0.5)));
  std::get<profile::HallPickup>(loaded_.bench->triggers[1].pickup).low_at_tooth = false;
  EXPECT_THAT(angle(), Not(Pair(true, DoubleNear(0, 5))));
  loaded_.bench->controller->triggers[1].edge = profile::ActiveEdge::kRising;
  EXPECT_THAT(angle(), Pair(true, DoubleNear(0, 0.5)));
}

// The step `cranking` begins at 0.8 s and waits 2.5 s at most.
TEST(WaitFor, ALimitThatElapsesEndsTheStepAndIsNoted) {
  const profile::LoadedScenario loaded = Shipped("hill_climb/cam_leads_swapped");
  VirtualClock clock;
  study::PlayOptions options;
  options.clock = &clock;
  options.pictures = false;
  const report::Report report = study::Play(*loaded.bench, *loaded.scenario, options).report;
  ASSERT_EQ(report.steps.size(), 6u);
  EXPECT_EQ(report.steps[1].name, "cranking");
  EXPECT_EQ(report.steps[1].begin_ns, 800 * kNsPerMs);
  EXPECT_EQ(report.steps[1].end_ns, 3300 * kNsPerMs);
  EXPECT_EQ(report.steps[2].begin_ns, 3300 * kNsPerMs);
  EXPECT_THAT(report.notes,
              Contains("3.300 s: step cranking: waited 2.5 s in vain for engine_fast.sync equals "
                       "synchronised"));
}

TEST(WaitFor, AConditionThatComesTrueEndsTheStepBeforeItsLimit) {
  const profile::LoadedScenario loaded = Shipped("hill_climb/healthy");
  VirtualClock clock;
  study::PlayOptions options;
  options.clock = &clock;
  options.pictures = false;
  const report::Report report = study::Play(*loaded.bench, *loaded.scenario, options).report;
  EXPECT_LT(report.steps[1].end_ns, 3300 * kNsPerMs);
  EXPECT_GT(report.steps[1].end_ns, 800 * kNsPerMs);
  EXPECT_THAT(report.notes, Not(Contains(HasSubstr("in vain"))));
}

TEST_F(RunnerTest, MessageFaultsAreInWhatIsSent) {
  class Counters : public RunObserver {
   public:
    void OnFrame(const bus::TimedFrame& frame) override { ++seen[frame.frame.id]; }
    std::map<std::uint32_t, int> seen;
  } counters;
  profile::Fault missing;
  missing.name = "no fast message";
  missing.kind = profile::fault::MessageMissing{};
  missing.at = "engine_fast";
  scenario_.faults = {missing};
  Runner runner(bench_, scenario_, options_);
  runner.AddObserver(&counters);
  runner.Start();
  runner.RunTo(kNsPerS);
  EXPECT_EQ(counters.seen[0x120], 0);
  EXPECT_GT(counters.seen[0x130], 40);
}

}  // namespace
}  // namespace drycrank::run
