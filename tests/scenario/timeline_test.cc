// SPDX-License-Identifier: Apache-2.0
#include "scenario/timeline.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <numbers>

namespace drycrank::scenario {
namespace {

using profile::DriveKind;
using ::testing::ElementsAre;
using ::testing::IsEmpty;

TimeNs S(double seconds) { return FromSeconds(seconds); }

profile::Drive Drive(DriveKind kind, double to) {
  profile::Drive drive;
  drive.kind = kind;
  drive.to = to;
  return drive;
}

class TimelineTest : public ::testing::Test {
 protected:
  TimelineTest() {
    bench_.stimuli.resize(2);
    bench_.stimuli[0].name = "engine_speed";
    bench_.stimuli[1].name = "coolant_temperature";
    bench_.stimuli[1].initial = 20;
  }
  profile::Step& AddStep(const std::string& name, double for_s,
                         std::vector<profile::Drive> drives) {
    profile::Step step;
    step.name = name;
    step.for_s = for_s;
    step.drives = std::move(drives);
    scenario_.steps.push_back(std::move(step));
    return scenario_.steps.back();
  }
  profile::Fault& AddFault() { return scenario_.faults.emplace_back(); }

  profile::Bench bench_;
  profile::Scenario scenario_;
};

TEST_F(TimelineTest, StimuliBeginAtTheirInitialValue) {
  AddStep("wait", 1, {});
  Timeline timeline(bench_, scenario_);
  timeline.BeginStep(0, 0);
  EXPECT_DOUBLE_EQ(timeline.Value(0, S(1)), 0);
  EXPECT_DOUBLE_EQ(timeline.Value(1, S(1)), 20);
}

TEST_F(TimelineTest, DriveLastsBeyondItsStep) {
  AddStep("idle", 2, {Drive(DriveKind::kHold, 800)});
  AddStep("wait", 1, {});
  Timeline timeline(bench_, scenario_);
  timeline.BeginStep(0, 0);
  timeline.BeginStep(1, S(2));
  EXPECT_DOUBLE_EQ(timeline.Value(0, S(2.5)), 800);
  EXPECT_EQ(timeline.StepEndNs(), S(3));
  EXPECT_EQ(timeline.step(), 1u);
}

// At 0.25 s a sine of period 3 s, mean 1000 and amplitude 400 is at a twelfth of its wave:
// 1000 + 400 sin 30 deg = 1200.
TEST_F(TimelineTest, RampStartsFromMidSine) {
  profile::Drive sine = Drive(DriveKind::kSine, 1000);
  sine.amplitude = 400;
  sine.period_s = 3;
  profile::Drive ramp = Drive(DriveKind::kRamp, 2200);
  ramp.over_s = 2;
  AddStep("swing", 1, {sine});
  AddStep("rise", 2, {ramp});
  Timeline timeline(bench_, scenario_);
  timeline.BeginStep(0, 0);
  timeline.BeginStep(1, S(0.25));
  EXPECT_NEAR(timeline.Value(0, S(0.25)), 1200, 1e-9);
  EXPECT_NEAR(timeline.Value(0, S(1.25)), 1700, 1e-9);
}

// Cranking 250 r/min for 2 s, then a ramp to 850 in 1 s, then 1 s more:
// 250 * 2 + (250 + 850) / 2 * 1 + 850 * 1 = 1900 r/min s, that is 31 2/3 turns.
TEST_F(TimelineTest, IntegralGoesOnOverTheSteps) {
  profile::Drive ramp = Drive(DriveKind::kRamp, 850);
  ramp.over_s = 1;
  AddStep("crank", 2, {Drive(DriveKind::kCrank, 250)});
  AddStep("flare", 2, {ramp});
  Timeline timeline(bench_, scenario_);
  timeline.BeginStep(0, S(5));  // stood still for 5 s
  EXPECT_DOUBLE_EQ(timeline.Value(0, S(6)), 250);
  timeline.BeginStep(1, S(7));
  EXPECT_DOUBLE_EQ(timeline.Integral(0, S(9)), 1900);
}

TEST_F(TimelineTest, PointsComeFromTheScenario) {
  profile::Drive drive = Drive(DriveKind::kPoints, 0);
  drive.points = {{0, 20}, {10, 90}};
  drive.stimulus = 1;
  AddStep("warm up", 10, {drive});
  Timeline timeline(bench_, scenario_);
  timeline.BeginStep(0, S(1));
  EXPECT_DOUBLE_EQ(timeline.Value(1, S(6)), 55);
}

TEST_F(TimelineTest, OverrideHoldsFromNowOnAndKeepsTheIntegral) {
  AddStep("idle", 10, {Drive(DriveKind::kHold, 600)});
  Timeline timeline(bench_, scenario_);
  timeline.BeginStep(0, 0);
  timeline.Override(0, 1200, 0, S(1));
  EXPECT_DOUBLE_EQ(timeline.Value(0, S(2)), 1200);
  EXPECT_DOUBLE_EQ(timeline.Integral(0, S(2)), 1800);
}

TEST_F(TimelineTest, OnlyTheAwaitedSignalEndsTheStep) {
  profile::Condition synchronised;
  synchronised.signal = {0, 1, 2};
  synchronised.value = 3;
  AddStep("start", 5, {}).wait_for = synchronised;
  AddStep("run", 5, {});
  Timeline timeline(bench_, scenario_);
  timeline.BeginStep(0, 0);
  EXPECT_FALSE(timeline.Observe({0, 1, 2}, 1));
  EXPECT_FALSE(timeline.Observe({0, 1, 1}, 3));
  EXPECT_FALSE(timeline.Observe({1, 1, 2}, 3));
  EXPECT_TRUE(timeline.Observe({0, 1, 2}, 3));
  timeline.BeginStep(1, S(1));
  EXPECT_FALSE(timeline.Observe({0, 1, 2}, 3));  // this step waits for nothing
}

TEST_F(TimelineTest, FaultWithoutTimeIsAlwaysInForce) {
  AddStep("run", 5, {});
  AddFault();
  Timeline timeline(bench_, scenario_);
  timeline.BeginStep(0, 0);
  EXPECT_THAT(timeline.FaultsAt(0), ElementsAre(0));
  EXPECT_EQ(timeline.NextFaultChangeNs(0), kNever);
}

TEST_F(TimelineTest, AFaultComesAndGoesFromItsBeginOn) {
  AddStep("only", 10, {});
  profile::Fault& fault = AddFault();
  fault.from_s = 1;
  fault.to_s = 3.2;
  fault.every_s = 1;
  fault.for_s = 0.25;
  Timeline timeline(bench_, scenario_);
  timeline.BeginStep(0, 0);
  EXPECT_THAT(timeline.FaultsAt(S(1) - 1), IsEmpty());
  EXPECT_THAT(timeline.FaultsAt(S(1)), ElementsAre(0));
  EXPECT_THAT(timeline.FaultsAt(S(1.25)), IsEmpty());
  EXPECT_THAT(timeline.FaultsAt(S(2)), ElementsAre(0));
  EXPECT_THAT(timeline.FaultsAt(S(3.2)), IsEmpty());  // its time is over
  EXPECT_EQ(timeline.NextFaultChangeNs(0), S(1));
  EXPECT_EQ(timeline.NextFaultChangeNs(S(1)), S(1.25));
  EXPECT_EQ(timeline.NextFaultChangeNs(S(1.25)), S(2));
  EXPECT_EQ(timeline.NextFaultChangeNs(S(3)), S(3.2));
}

TEST_F(TimelineTest, AFaultOfAStepComesAndGoesFromTheStepsBeginOn) {
  AddStep("first", 1.1, {});
  AddStep("second", 5, {});
  profile::Fault& fault = AddFault();
  fault.during = {"second"};
  fault.every_s = 2;
  fault.for_s = 0.5;
  Timeline timeline(bench_, scenario_);
  timeline.BeginStep(0, 0);
  EXPECT_THAT(timeline.FaultsAt(0), IsEmpty());
  timeline.BeginStep(1, S(1.1));
  EXPECT_THAT(timeline.FaultsAt(S(1.1)), ElementsAre(0));
  EXPECT_EQ(timeline.NextFaultChangeNs(S(1.1)), S(1.6));
  EXPECT_THAT(timeline.FaultsAt(S(1.6)), IsEmpty());
  EXPECT_EQ(timeline.NextFaultChangeNs(S(1.6)), S(3.1));
}

TEST_F(TimelineTest, FaultByTheClockIsInForceFromTo) {
  AddStep("run", 9, {});
  profile::Fault& fault = AddFault();
  fault.from_s = 2;
  fault.to_s = 4;
  AddFault().from_s = 3;
  Timeline timeline(bench_, scenario_);
  timeline.BeginStep(0, 0);
  EXPECT_THAT(timeline.FaultsAt(S(2) - 1), IsEmpty());
  EXPECT_EQ(timeline.NextFaultChangeNs(0), S(2));
  EXPECT_THAT(timeline.FaultsAt(S(2)), ElementsAre(0));
  EXPECT_EQ(timeline.NextFaultChangeNs(S(2)), S(3));
  EXPECT_THAT(timeline.FaultsAt(S(3)), ElementsAre(0, 1));
  EXPECT_EQ(timeline.NextFaultChangeNs(S(3)), S(4));
  EXPECT_THAT(timeline.FaultsAt(S(4)), ElementsAre(1));
  EXPECT_EQ(timeline.NextFaultChangeNs(S(4)), kNever);
}

TEST_F(TimelineTest, FaultWithStepsGoesByThem) {
  AddStep("healthy", 1, {});
  AddStep("broken", 1, {});
  AddFault().during = {"broken"};
  Timeline timeline(bench_, scenario_);
  timeline.BeginStep(0, 0);
  EXPECT_THAT(timeline.FaultsAt(S(1)), IsEmpty());
  timeline.BeginStep(1, S(1));
  EXPECT_THAT(timeline.FaultsAt(S(1)), ElementsAre(0));
}

}  // namespace
}  // namespace drycrank::scenario
