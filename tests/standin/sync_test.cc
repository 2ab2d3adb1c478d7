// SPDX-License-Identifier: Apache-2.0
//
// Finding the place on every kind of wheel, and the speed. Wheels 60-2 and 36-1, tooth periods and
// the firing orders: tests/reference/crank_cam.yaml. The other wheels' shapes are common practice,
// no source.
#include <gtest/gtest.h>

#include "standin/rig.h"

namespace drycrank::standin {
namespace {

struct WheelCase {
  const char* name;
  profile::Bench bench;
  double turns;  // synchronised within, from any start
};
void PrintTo(const WheelCase& c, std::ostream* os) { *os << c.name; }

profile::Bench WithCam(profile::Bench bench, profile::Wheel cam,
                       profile::ToothPoint point = profile::ToothPoint::kBegin) {
  profile::TriggerChannel& channel = bench.controller->triggers[1];
  channel.wheel = std::move(cam);
  channel.point = point;
  if (point == profile::ToothPoint::kEnd) channel.edge = profile::ActiveEdge::kRising;
  return bench;
}

// The wheel on the cam instead of the crank, eight cylinders.
profile::Bench OnCam(profile::Bench bench) {
  bench.controller->triggers[0].shaft = profile::Shaft::kCam;
  bench.controller->decoder.firing_order = {1, 8, 4, 3, 6, 5, 7, 2};
  bench.controller->decoder.firing_angles_deg = {0, 90, 180, 270, 360, 450, 540, 630};
  return bench;
}

profile::Wheel UnequalCam() { return WheelOf({{0, 10}, {90, 110}, {180, 210}, {270, 310}}); }

// With a gap: a turn and some teeth for the position at most, and the cam edge within two turns.
// Without: the wheel must have run steadily for four teeth before the cam edge counts.
std::vector<WheelCase> AllWheels() {
  return {
      {"60-2", FourCylinder(EvenWheel(60, {59, 60})), 2.1},
      {"36-1", FourCylinder(EvenWheel(36, {36})), 2.1},
      {"36-2-2-2", FourCylinder(EvenWheel(36, {17, 18, 20, 21, 35, 36})), 2.1},
      {"24+1", FourCylinder(EvenWheel(24)), 2.2},
      {"24+1 on the cam", OnCam(FourCylinder(EvenWheel(24))), 2.4},
      {"12+1", FourCylinder(EvenWheel(12)), 2.4},
      {"8 vanes and half-moon", WithCam(OnCam(FourCylinder(EvenWheel(8))), WheelOf({{100, 280}})),
       3.0},
      {"36-1 with four unequal cam teeth",
       WithCam(FourCylinder(EvenWheel(36, {36})), UnequalCam(), profile::ToothPoint::kEnd), 1.7},
  };
}

class EveryWheel : public testing::TestWithParam<WheelCase> {};

TEST_P(EveryWheel, IsSynchronisedInTimeFromAnyStart) {
  for (double start_deg = 2; start_deg < 720; start_deg += 45) {
    Rig rig(GetParam().bench, start_deg);
    EXPECT_GE(rig.DegreesUntil(SyncState::kSynchronised, GetParam().turns, 900), 0)
        << "from " << start_deg;
    EXPECT_EQ(rig.reason(), SyncReason::kNone);
    rig.Turns(8, 900);
    EXPECT_EQ(rig.state(), SyncState::kSynchronised);
    EXPECT_EQ(rig.Value("sync_losses"), 0);
    EXPECT_NEAR(rig.Value("engine_speed"), 900, 0.01);
    EXPECT_NEAR(rig.Value("cam_angle.cam"), 0, 0.01);
    EXPECT_NEAR(rig.Value("cycles"), 4, 1);
  }
}

// The twin: without the cam's edge none of them is.
TEST_P(EveryWheel, IsNotSynchronisedWithoutItsCam) {
  Rig rig(GetParam().bench);
  rig.shafts[1].fitted = false;
  EXPECT_EQ(rig.DegreesUntil(SyncState::kSynchronised, 5, 900), -1);
  EXPECT_EQ(rig.reason(), SyncReason::kCamMissing);
}

TEST_P(EveryWheel, StandsStartAndStopWithoutALoss) {
  Rig rig(GetParam().bench, 7);
  rig.Ramp(720, 0, 250);
  const auto cylinders = static_cast<double>(rig.bench.controller->decoder.firing_order.size());
  rig.TurnWithRipple(1440, 250, 0.25, 720 / cylinders);
  rig.Ramp(2160, 250, 900);
  EXPECT_EQ(rig.state(), SyncState::kSynchronised);
  rig.Ramp(1440, 900, 0);
  rig.Wait(600);
  EXPECT_EQ(rig.state(), SyncState::kStopped);
  EXPECT_EQ(rig.reason(), SyncReason::kNoTeeth);
  EXPECT_EQ(rig.Value("engine_speed"), 0);
  EXPECT_EQ(rig.Value("sync_losses"), 0);
}

INSTANTIATE_TEST_SUITE_P(Standin, EveryWheel, testing::ValuesIn(AllWheels()));

// [rpm, 60-2 tooth period us, 36-1 tooth period us]: tests/reference/crank_cam.yaml.
struct SpeedRow {
  double rpm, us_60_2, us_36_1;
};
constexpr SpeedRow kSpeeds[] = {{150, 6666.667, 11111.111}, {200, 5000.0, 8333.333},
                                {800, 1250.0, 2083.333},    {1000, 1000.0, 1666.667},
                                {3000, 333.3333, 555.5556}, {8000, 125.0, 208.3333}};

// `slots` at the published period, the last `absent` of each turn left out.
double SpeedFromTeeth(profile::Bench bench, int slots, int absent, double period_us) {
  Controller controller(bench);
  for (int slot = 0; slot < 3 * slots; ++slot) {
    if (slot % slots >= slots - absent) continue;
    const double t_us = 1000 + slot * period_us;
    const auto at = [&](double us) { return static_cast<TimeNs>(us * 1e3); };
    controller.OnWave(0, {at(t_us), kNever, 0.1, 0.1, 0});
    controller.OnWave(0, {at(t_us + period_us / 2), kNever, 4.9, 4.9, 0});
    controller.Advance(at(t_us + period_us / 2));
  }
  EXPECT_EQ(controller.sync_state(), SyncState::kPositionKnown);
  return controller.Value(controller.ValueIndex("engine_speed"));
}

TEST(Speed, IsThePublishedOneForPublishedToothPeriods) {
  for (const SpeedRow& row : kSpeeds) {
    EXPECT_NEAR(SpeedFromTeeth(FourCylinder(EvenWheel(60, {59, 60})), 60, 2, row.us_60_2), row.rpm,
                row.rpm * 1e-4);
    EXPECT_NEAR(SpeedFromTeeth(FourCylinder(EvenWheel(36, {36})), 36, 1, row.us_36_1), row.rpm,
                row.rpm * 1e-4);
  }
}

// 180 degrees are one firing interval of four cylinders: the ripple is averaged out, whatever it
// is.
TEST(Speed, AveragesTheRippleOfCranking) {
  Rig rig(FourCylinder(EvenWheel(36, {36})));
  rig.TurnWithRipple(1080, 200, 0.25);
  EXPECT_EQ(rig.Value("sync_losses"), 0);
  EXPECT_EQ(rig.state(), SyncState::kSynchronised);
  for (int i = 0; i < 36; ++i) {
    rig.TurnWithRipple(10, 200, 0.25);
    EXPECT_NEAR(rig.Value("engine_speed"), 200, 3);  // the gap shifts the span by up to a tooth
  }
}

TEST(Speed, FollowsAStepWithinAFiringInterval) {
  Rig rig(FourCylinder(EvenWheel(60, {59, 60})));
  rig.Turns(3, 1000);
  rig.Turn(150, 1300);
  EXPECT_LT(rig.Value("engine_speed"), 1290);  // not yet
  rig.Turn(42, 1300);
  EXPECT_NEAR(rig.Value("engine_speed"), 1300, 0.1);
}

TEST(Speed, FallsWhenTeethAreOverdue) {
  Rig rig(FourCylinder(EvenWheel(60, {59, 60})));
  rig.Turns(3, 1000);
  rig.Wait(100);
  // Twice 18 degrees, the longest interval, in 100 ms would be 60 r/min.
  EXPECT_LE(rig.Value("engine_speed"), 61);
  EXPECT_NE(rig.state(), SyncState::kStopped);
  rig.Wait(450);
  EXPECT_EQ(rig.state(), SyncState::kStopped);
}

TEST(Speed, GoesTo20000) {
  Rig rig(FourCylinder(EvenWheel(60, {59, 60})));
  rig.Turns(4, 20000);
  EXPECT_EQ(rig.state(), SyncState::kSynchronised);
  EXPECT_NEAR(rig.Value("engine_speed"), 20000, 2);
}

TEST(TwoStrokeEngine, IsSynchronisedAsSoonAsThePositionIsKnown) {
  Rig rig(TwoStroke(EvenWheel(36, {36})));
  EXPECT_GE(rig.DegreesUntil(SyncState::kSynchronised, 1.1, 3000), 0);
  rig.Turns(10, 3000);
  EXPECT_NEAR(rig.Value("cycles"), 10, 1);
}

TEST(NoTriggers, LeaveItStopped) {
  profile::Bench bench = TwoStroke(EvenWheel(36, {36}));
  bench.controller->triggers.clear();
  Rig rig(bench);
  rig.Turns(3, 1000);
  EXPECT_EQ(rig.state(), SyncState::kStopped);
}

TEST(NoTriggers, NorDoesAWheelWithoutTeethMove) {
  Rig rig(TwoStroke(profile::Wheel()));
  rig.shafts[0].wheel = EvenWheel(36, {36});
  rig.Turns(3, 1000);
  EXPECT_EQ(rig.state(), SyncState::kStopped);
}

TEST(TwoStrokeEngine, OneToothIsEnough) {
  Rig rig(TwoStroke(WheelOf({{40, 70}})));
  EXPECT_GE(rig.DegreesUntil(SyncState::kSynchronised, 4, 3000), 0);
  rig.Turns(10, 3000);
  EXPECT_NEAR(rig.Value("engine_speed"), 3000, 1);
  EXPECT_NEAR(rig.Value("cycles"), 10, 1);
}

}  // namespace
}  // namespace drycrank::standin
