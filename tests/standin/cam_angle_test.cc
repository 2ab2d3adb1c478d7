// SPDX-License-Identifier: Apache-2.0
//
// The cam's angle as measured, and what a coil with swapped leads does to positions.
#include <gtest/gtest.h>

#include <cmath>

#include "standin/rig.h"

namespace drycrank::standin {
namespace {

TEST(CamAngle, IsHowMuchEarlierTheEdgesCome) {
  for (const double advance_deg : {12.0, 3.5, -7.0, -18.0}) {
    Rig rig(FourCylinder(EvenWheel(60, {59, 60})));
    rig.shafts[1].advance_deg = advance_deg;
    rig.Turns(4, 1500);
    EXPECT_EQ(rig.state(), SyncState::kSynchronised);
    EXPECT_NEAR(rig.Value("cam_angle.cam"), advance_deg, 0.01);
  }
}

TEST(CamAngle, FollowsACamThatIsMovedBeyondItsWindow) {
  Rig rig(FourCylinder(EvenWheel(60, {59, 60})));
  rig.Turns(4, 1500);
  for (double advance_deg = 5; advance_deg <= 50; advance_deg += 5) {
    rig.shafts[1].advance_deg = advance_deg;
    rig.Turns(4, 1500);
    EXPECT_EQ(rig.state(), SyncState::kSynchronised);
    EXPECT_NEAR(rig.Value("cam_angle.cam"), advance_deg, 0.01);
  }
}

TEST(CamAngle, OfASecondCamIsMeasuredOnly) {
  profile::Bench bench = FourCylinder(EvenWheel(60, {59, 60}));
  profile::Controller& controller = *bench.controller;
  controller.inputs.push_back(controller.inputs[1]);
  controller.inputs[2].terminal = "ECU.3";
  controller.triggers.push_back(controller.triggers[1]);
  controller.triggers[2].terminal = "ECU.3";
  controller.triggers[2].name = "exhaust";
  controller.triggers[2].wheel = WheelOf({{20, 30}});
  controller.decoder.cams = {1, 2};
  Rig rig(bench);
  rig.shafts[2].advance_deg = -35;
  rig.Turns(4, 1500);
  EXPECT_EQ(rig.state(), SyncState::kSynchronised);
  EXPECT_NEAR(rig.Value("cam_angle.exhaust"), -35, 0.01);
  EXPECT_NEAR(rig.Value("cam_angle.cam"), 0, 0.01);
}

profile::Bench WithCoil(int slots, const std::vector<int>& absent) {
  profile::Bench bench = FourCylinder(EvenWheel(slots, absent));
  profile::TriggerChannel& crank = bench.controller->triggers[0];
  crank.conditioning = profile::Conditioning::kZeroCrossing;
  crank.point = profile::ToothPoint::kCentre;  // teeth as wide as the windows between them
  return bench;
}

TEST(Coil, GivesPositionAtToothCentres) {
  Rig rig(WithCoil(60, {59, 60}));
  rig.Turns(4, 1500);
  EXPECT_EQ(rig.state(), SyncState::kSynchronised);
  EXPECT_NEAR(rig.Value("engine_speed"), 1500, 0.01);
  EXPECT_NEAR(rig.Value("cam_angle.cam"), 0, 0.01);
}

TEST(Coil, TooWeakToArmGivesNothing) {
  Rig rig(WithCoil(60, {59, 60}));
  rig.shafts[0].peak_v = 0.29;
  rig.Turns(4, 1500);
  EXPECT_EQ(rig.state(), SyncState::kStopped);
}

// Leads swapped: the falling zero now ends the lobe of the tooth's end, half a pitch after the
// tooth's centre. The gap keeps its ratio, so the place is found, but every angle is believed half
// a pitch less than it is, and the (right) cam looks half a pitch early.
TEST(Coil, SwappedLeadsShiftTheAngleByHalfAPitch) {
  Rig rig(WithCoil(60, {59, 60}));
  rig.shafts[0].inverted = true;
  rig.Turns(4, 1500);
  EXPECT_EQ(rig.state(), SyncState::kSynchronised);
  EXPECT_EQ(rig.Value("sync_losses"), 0);
  EXPECT_NEAR(rig.Value("cam_angle.cam"), 3, 0.01);
  Rig coarse(WithCoil(36, {36}));
  coarse.shafts[0].inverted = true;
  coarse.Turns(4, 1500);
  EXPECT_NEAR(coarse.Value("cam_angle.cam"), 5, 0.01);
}

}  // namespace
}  // namespace drycrank::standin
