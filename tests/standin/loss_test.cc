// SPDX-License-Identifier: Apache-2.0
//
// Everything that takes the place away, and the reason given. The healthy twin of each is
// EveryWheel.IsSynchronisedInTimeFromAnyStart in sync_test.cc.
#include <gtest/gtest.h>

#include <algorithm>

#include "standin/rig.h"
#include "types/random.h"

namespace drycrank::standin {
namespace {

class Losing : public testing::Test {
 protected:
  explicit Losing() : rig(FourCylinder(EvenWheel(36, {36}))) { rig.Turns(4, 900); }
  void SetUp() override { ASSERT_EQ(rig.state(), SyncState::kSynchronised); }

  // A short spike to ground on the crank's wire, `deg` from now.
  void AddSpike(double deg) {
    const TimeNs t_ns = rig.now_ns() + FromSeconds(deg / (6 * 900));
    rig.spoil = [t_ns](std::vector<Rig::Piece>& pieces) {
      pieces.push_back({0, {t_ns, kNever, 0.1, 0.1, 0}});
      pieces.push_back({0, {t_ns + 20'000, kNever, 4.9, 4.9, 0}});
    };
  }

  Rig rig;
};

TEST_F(Losing, ExtraEdgeIsAToothEarly) {
  AddSpike(107.5);  // in the middle of the window between two teeth
  rig.Turn(112, 900);
  EXPECT_EQ(rig.state(), SyncState::kSearching);
  EXPECT_EQ(rig.reason(), SyncReason::kToothEarly);
  EXPECT_EQ(rig.Value("sync_losses"), 1);
  rig.Turns(3, 900);
  EXPECT_EQ(rig.state(), SyncState::kSynchronised);
  EXPECT_EQ(rig.reason(), SyncReason::kNone);
  EXPECT_EQ(rig.Value("sync_losses"), 1);
}

TEST_F(Losing, MissingToothIsAToothLate) {
  rig.shafts[0].wheel = EvenWheel(36, {12, 36});
  rig.Turn(135, 900);
  // One tooth missing of 36 is what the gap looks like: the place is believed found, and is wrong.
  EXPECT_EQ(rig.state(), SyncState::kPositionKnown);
  EXPECT_EQ(rig.reason(), SyncReason::kToothLate);
  EXPECT_EQ(rig.Value("sync_losses"), 1);
  rig.Turns(4, 900);  // and again in every turn
  EXPECT_GE(rig.Value("sync_losses"), 3);
}

TEST_F(Losing, MissingToothWhileCrankingSlowlyToo) {
  rig.Turns(2, 120);
  rig.shafts[0].wheel = EvenWheel(36, {12, 36});
  rig.Turn(135, 120);
  EXPECT_EQ(rig.reason(), SyncReason::kToothLate);
}

TEST_F(Losing, CamThatStopsIsMissing) {
  rig.shafts[1].fitted = false;
  // The last edge came at 200 of this cycle, 520 degrees ago: 880 after a turn, of 900 allowed.
  rig.Turns(1, 900);
  EXPECT_EQ(rig.state(), SyncState::kSynchronised);
  rig.Turns(1, 900);
  EXPECT_EQ(rig.state(), SyncState::kPositionKnown);
  EXPECT_EQ(rig.reason(), SyncReason::kCamMissing);
  EXPECT_EQ(rig.Value("sync_losses"), 1);
  rig.shafts[1].fitted = true;
  rig.Turns(3, 900);
  EXPECT_EQ(rig.state(), SyncState::kSynchronised);
}

TEST_F(Losing, CamThatJumpsIsUnexpectedAfterTwoEdges) {
  rig.shafts[1].advance_deg = -30;
  rig.Turns(2, 900);
  EXPECT_EQ(rig.state(), SyncState::kSynchronised);
  rig.Turns(2, 900);
  EXPECT_EQ(rig.state(), SyncState::kPositionKnown);
  EXPECT_EQ(rig.reason(), SyncReason::kCamUnexpected);
  EXPECT_NEAR(rig.Value("cam_angle.cam"), -30, 0.01);
  rig.Turns(20, 900);
  EXPECT_EQ(rig.state(), SyncState::kPositionKnown);
}

TEST_F(Losing, OneStrayCamEdgeDoesNotMatter) {
  const TimeNs t_ns = rig.now_ns() + FromSeconds(300.0 / (6 * 900));
  rig.spoil = [t_ns](std::vector<Rig::Piece>& pieces) {
    pieces.push_back({1, {t_ns, kNever, 0.1, 0.1, 0}});
    pieces.push_back({1, {t_ns + 100'000, kNever, 4.9, 4.9, 0}});
  };
  rig.Turns(4, 900);
  EXPECT_EQ(rig.state(), SyncState::kSynchronised);
  EXPECT_EQ(rig.Value("sync_losses"), 0);
}

TEST_F(Losing, StopIsNoTeethAndNoLoss) {
  rig.Wait(501);
  EXPECT_EQ(rig.state(), SyncState::kStopped);
  EXPECT_EQ(rig.reason(), SyncReason::kNoTeeth);
  EXPECT_EQ(rig.Value("sync_losses"), 0);
  rig.Turns(0.3, 900);
  EXPECT_EQ(rig.state(), SyncState::kSearching);
  EXPECT_EQ(rig.reason(), SyncReason::kNoTeeth);  // until synchronised again
  rig.Turns(3, 900);
  EXPECT_EQ(rig.reason(), SyncReason::kNone);
}

TEST_F(Losing, NoiseNeverLeavesItSynchronisedForLong) {
  Random random(7, 0);
  int synchronised = 0;
  for (int turn = 0; turn < 40; ++turn) {
    AddSpike(10 * std::floor(36 * random.Uniform()) + 7.5);
    rig.Turns(1, 900);
    synchronised += rig.state() == SyncState::kSynchronised ? 1 : 0;
  }
  EXPECT_GE(rig.Value("sync_losses"), 10);
  EXPECT_LT(synchronised, 30);
  rig.Turns(3, 900);  // the twin: without noise it comes back
  EXPECT_EQ(rig.state(), SyncState::kSynchronised);
}

TEST_F(Losing, SupplyBelowItsMinimumStopsEverything) {
  rig.Sample(12);
  EXPECT_EQ(rig.state(), SyncState::kSynchronised);
  EXPECT_EQ(rig.Value("supply_voltage"), 12);
  rig.Sample(5.9);
  EXPECT_EQ(rig.state(), SyncState::kStopped);
  EXPECT_EQ(rig.reason(), SyncReason::kNoSupply);
  rig.Turns(4, 900);
  EXPECT_EQ(rig.state(), SyncState::kStopped);  // deaf
  rig.Sample(6.1);
  rig.Turns(3, 900);
  EXPECT_EQ(rig.state(), SyncState::kSynchronised);
}

TEST(NeverFound, GapIsNotFoundOnAWheelWithoutOne) {
  Rig rig(FourCylinder(EvenWheel(36, {36})));
  rig.shafts[0].wheel = EvenWheel(36);
  rig.Turns(1.4, 900);
  EXPECT_EQ(rig.reason(), SyncReason::kNone);
  rig.Turns(0.2, 900);
  EXPECT_EQ(rig.state(), SyncState::kSearching);
  EXPECT_EQ(rig.reason(), SyncReason::kGapNotFound);
}

// Gap of three pitches where two are told of: 3 / 2 = 1.5 is outside 1.4.
TEST(NeverFound, GapOfAnotherWheelIsNone) {
  Rig rig(FourCylinder(EvenWheel(36, {36})));
  rig.shafts[0].wheel = EvenWheel(36, {35, 36});
  EXPECT_EQ(rig.DegreesUntil(SyncState::kPositionKnown, 4, 900), -1);
  EXPECT_EQ(rig.reason(), SyncReason::kGapNotFound);
}

// A cam tooth 40 cam degrees wide on a Hall sensor whose leads give the inverted level: the falling
// edge comes at the tooth's end, 80 crank degrees late.
TEST(WrongCam, InvertedLevelIsUnexpected) {
  profile::Bench bench = FourCylinder(EvenWheel(36, {36}));
  bench.controller->triggers[1].wheel = WheelOf({{100, 140}});
  Rig rig(bench);
  rig.shafts[1].inverted = true;
  EXPECT_EQ(rig.DegreesUntil(SyncState::kSynchronised, 6, 900), -1);
  EXPECT_EQ(rig.state(), SyncState::kPositionKnown);
  EXPECT_EQ(rig.reason(), SyncReason::kCamUnexpected);
  EXPECT_NEAR(rig.Value("cam_angle.cam"), -80, 0.01);
}

// Four teeth evenly spaced fit either half of the cycle.
TEST(WrongCam, EvenTeethAreAmbiguous) {
  profile::Bench bench = FourCylinder(EvenWheel(36, {36}));
  bench.controller->triggers[1].wheel = WheelOf({{0, 10}, {90, 110}, {180, 210}, {270, 310}});
  Rig rig(bench);
  EXPECT_EQ(rig.DegreesUntil(SyncState::kSynchronised, 6, 900), -1);
  EXPECT_EQ(rig.state(), SyncState::kPositionKnown);
  EXPECT_EQ(rig.reason(), SyncReason::kCamAmbiguous);
}

TEST(WrongCam, OneTurnOffLooksRightFromInside) {
  // Nothing but the cam tells the halves apart: one on the wrong half by 360 degrees is believed.
  // The sparks then come a turn late, which only something outside can see.
  Rig rig(FourCylinder(EvenWheel(36, {36})));
  rig.shafts[1].advance_deg = 360;
  EXPECT_GE(rig.DegreesUntil(SyncState::kSynchronised, 3, 900), 0);
}

}  // namespace
}  // namespace drycrank::standin
