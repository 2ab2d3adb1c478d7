// SPDX-License-Identifier: Apache-2.0
//
// Wheels whose place takes more than one gap and one cam edge: two equal gaps, widths, levels, a
// pin in an even flywheel, no cam, a tooth a turn. Waves of rig.h, worked out by hand. The wheels'
// shapes are common practice, no source.
#include <gtest/gtest.h>

#include <cmath>
#include <set>

#include "standin/rig.h"

namespace drycrank::standin {
namespace {

profile::Wheel EqualBegins() { return WheelOf({{0, 20}, {90, 125}, {180, 230}, {270, 335}}); }

profile::Bench WithCam(profile::Bench bench, profile::Wheel cam, bool both_edges) {
  bench.controller->triggers[1].wheel = std::move(cam);
  bench.controller->triggers[1].both_edges = both_edges;
  return bench;
}

profile::Bench WithoutCam(profile::Firing firing) {
  profile::Bench bench = FourCylinder(EvenWheel(36, {36}));
  bench.controller->triggers.resize(1);
  bench.controller->decoder.cams.clear();
  bench.controller->decoder.firing = firing;
  return bench;
}

TEST(TwoEqualGaps, AreSettledByTheCamFromAnyStart) {
  const profile::Bench bench = FourCylinder(EvenWheel(44, {21, 22, 43, 44}));
  for (double start_deg = 1; start_deg < 720; start_deg += 37) {
    Rig rig(bench, start_deg);
    EXPECT_GE(rig.DegreesUntil(SyncState::kSynchronised, 3, 900), 0) << "from " << start_deg;
    rig.Turns(6, 900);
    EXPECT_EQ(rig.reason(), SyncReason::kNone);
    EXPECT_EQ(rig.Value("sync_losses"), 0);
    EXPECT_NEAR(rig.Value("cam_angle.cam"), 0, 0.01);
  }
}

TEST(TwoEqualGaps, AreNotWithoutItsEdges) {
  Rig rig(FourCylinder(EvenWheel(44, {21, 22, 43, 44})));
  rig.shafts[1].fitted = false;
  EXPECT_EQ(rig.DegreesUntil(SyncState::kPositionKnown, 6, 900), -1);
  EXPECT_EQ(rig.reason(), SyncReason::kCamMissing);
}

// Half a turn off, the cam's one tooth comes where none is due.
TEST(TwoEqualGaps, WithACamElsewhereAreNeverBelieved) {
  Rig rig(FourCylinder(EvenWheel(44, {21, 22, 43, 44})));
  rig.shafts[1].advance_deg = 90;
  EXPECT_EQ(rig.DegreesUntil(SyncState::kSynchronised, 6, 900), -1);
}

TEST(Widths, TellTeethThatBeginAlikeApart) {
  const profile::Bench bench = WithCam(FourCylinder(EvenWheel(36, {36})), EqualBegins(), true);
  for (double start_deg = 1; start_deg < 720; start_deg += 37) {
    Rig rig(bench, start_deg);
    EXPECT_GE(rig.DegreesUntil(SyncState::kSynchronised, 2.5, 900), 0) << "from " << start_deg;
    rig.Turns(6, 900);
    EXPECT_EQ(rig.state(), SyncState::kSynchronised);
    EXPECT_EQ(rig.Value("sync_losses"), 0);
  }
}

TEST(Widths, AreNotReadUnlessToldSo) {
  Rig rig(WithCam(FourCylinder(EvenWheel(36, {36})), EqualBegins(), false));
  EXPECT_EQ(rig.DegreesUntil(SyncState::kSynchronised, 6, 900), -1);
  EXPECT_EQ(rig.reason(), SyncReason::kCamAmbiguous);
}

// The cam 30 degrees early: within a window of 40, and the measure is the active edge's.
TEST(Widths, LeaveTheMeasureOfTheAdvanceAlone) {
  profile::Bench bench = WithCam(FourCylinder(EvenWheel(36, {36})),
                                 WheelOf({{0, 20}, {90, 145}, {180, 260}, {270, 290}}), true);
  bench.controller->triggers[1].window_deg = 40;
  Rig rig(bench);
  rig.shafts[1].advance_deg = 30;
  EXPECT_GE(rig.DegreesUntil(SyncState::kSynchronised, 4, 900), 0);
  rig.Turns(4, 900);
  EXPECT_NEAR(rig.Value("cam_angle.cam"), 30, 0.01);
}

// Of another width than told, its end comes 70 degrees of crank early: not believed for long.
TEST(Widths, OfAnotherCamAreUnexpected) {
  for (const bool both_edges : {true, false}) {
    Rig rig(WithCam(FourCylinder(EvenWheel(36, {36})), WheelOf({{100, 180}}), both_edges));
    rig.shafts[1].wheel = WheelOf({{100, 145}});
    rig.Turns(12, 900);
    EXPECT_EQ(rig.Value("sync_losses") > 0, both_edges);
  }
}

// Begin of the pair's dead centres, less 10 degrees: 350 and 170, and a turn further on.
TEST(NoCam, BothCylindersOfAPairFireInEachTurn) {
  Rig rig(WithoutCam(profile::Firing::kPaired));
  EXPECT_GE(rig.DegreesUntil(SyncState::kPositionKnown, 1.2, 900), 0);
  rig.Turns(9, 900);
  EXPECT_EQ(rig.state(), SyncState::kPositionKnown);
  EXPECT_EQ(rig.reason(), SyncReason::kNone);
  const auto sparks = SparksAt(rig, 0, 900);
  for (const int cylinder : {1, 4}) {
    EXPECT_GE(sparks.count({cylinder, 350}), 3u);
    EXPECT_GE(sparks.count({cylinder, 710}), 3u);
  }
  for (const int cylinder : {3, 2}) {
    EXPECT_GE(sparks.count({cylinder, 170}), 3u);
    EXPECT_GE(sparks.count({cylinder, 530}), 3u);
  }
  for (const auto& [cylinder, deg] : sparks) {
    EXPECT_EQ(deg % 360, cylinder == 1 || cylinder == 4 ? 350 : 170) << cylinder;
  }
}

TEST(NoCam, EachByItselfIsNeverFiredAndItSaysWhy) {
  Rig rig(WithoutCam(profile::Firing::kSequential));
  rig.Turns(9, 900);
  EXPECT_EQ(rig.state(), SyncState::kPositionKnown);
  EXPECT_EQ(rig.reason(), SyncReason::kNoCamTold);
  EXPECT_TRUE(rig.events.empty());
}

TEST(NoCam, LeavesTwoEqualGapsUnknownAndSaysWhy) {
  profile::Bench bench = WithoutCam(profile::Firing::kPaired);
  bench.controller->triggers[0].wheel = EvenWheel(44, {21, 22, 43, 44});
  Rig rig(bench);
  rig.Turns(9, 900);
  EXPECT_EQ(rig.state(), SyncState::kSearching);
  EXPECT_EQ(rig.reason(), SyncReason::kNoCamTold);
  EXPECT_TRUE(rig.events.empty());
}

// In pairs it goes on firing when the cam is lost, which only told it the phase.
TEST(Pairs, FireOnWithoutTheCam) {
  profile::Bench bench = FourCylinder(EvenWheel(36, {36}));
  bench.controller->decoder.firing = profile::Firing::kPaired;
  Rig rig(bench);
  rig.shafts[1].fitted = false;
  rig.Turns(8, 900);
  EXPECT_EQ(rig.reason(), SyncReason::kCamMissing);
  EXPECT_GE(rig.Value("ignitions"), 20);
}

TEST(OneTooth, InATurnIsEnoughWithACam) {
  for (const double start_deg : {5.0, 200.0, 500.0}) {
    Rig rig(FourCylinder(WheelOf({{40, 70}})), start_deg);
    EXPECT_GE(rig.DegreesUntil(SyncState::kSynchronised, 5, 900), 0) << "from " << start_deg;
    rig.Turns(6, 900);
    EXPECT_NEAR(rig.Value("engine_speed"), 900, 0.1);
    EXPECT_EQ(rig.Value("sync_losses"), 0);
  }
}

// ---- a pin on the crank -------------------------------------------------------------------------

// 10 degrees before top dead centre, of 0, 180, 360 and 540 for 1, 3, 4 and 2.
void ExpectSparksInPlace(const Rig& rig, double start_deg) {
  const int due[] = {0, 710, 530, 170, 350};
  const auto sparks = SparksAt(rig, start_deg, 900);
  EXPECT_GE(sparks.size(), 8u);
  for (const auto& [cylinder, deg] : sparks) EXPECT_EQ(deg % 720, due[cylinder]) << cylinder;
}

TEST(AnEvenFlywheel, IsPlacedByItsPinAndTheTurnByTheCamInAnyOrder) {
  for (const std::vector<int>& order : {std::vector<int>{1, 2}, {2, 1}}) {
    for (double start_deg = 1; start_deg < 720; start_deg += 41) {
      Rig rig(WithPin(EvenWheel(60), order), start_deg);
      EXPECT_GE(rig.DegreesUntil(SyncState::kSynchronised, 4, 900), 0) << "from " << start_deg;
      rig.Turns(8, 900);
      EXPECT_EQ(rig.reason(), SyncReason::kNone);
      EXPECT_EQ(rig.Value("sync_losses"), 0);
      ExpectSparksInPlace(rig, start_deg);
    }
  }
}

// Three teeth late it still says in which turn; the place is the pin's to say.
TEST(AnEvenFlywheel, IsNotMovedByACamThatIsLate) {
  Rig rig(WithPin(EvenWheel(60), {1, 2}), 100);
  rig.shafts[1].advance_deg = -18;
  EXPECT_GE(rig.DegreesUntil(SyncState::kSynchronised, 4, 900), 0);
  rig.Turns(8, 900);
  EXPECT_NEAR(rig.Value("cam_angle.cam"), -18, 0.01);
  ExpectSparksInPlace(rig, 100);
}

TEST(AnEvenFlywheel, IsNotPlacedWithoutItsPin) {
  Rig rig(WithPin(EvenWheel(60), {1, 2}));
  rig.shafts[2].fitted = false;
  EXPECT_EQ(rig.DegreesUntil(SyncState::kSynchronised, 8, 900), -1);
  EXPECT_EQ(rig.reason(), SyncReason::kCamMissing);
  EXPECT_TRUE(rig.events.empty());
}

TEST(AnEvenFlywheel, FiresNoMoreSoonAfterItsPinIsLost) {
  Rig rig(WithPin(EvenWheel(60), {1, 2}));
  rig.Turns(6, 900);
  ASSERT_EQ(rig.state(), SyncState::kSynchronised);
  rig.shafts[2].fitted = false;
  rig.Turns(6, 900);
  EXPECT_EQ(rig.state(), SyncState::kSearching);
  EXPECT_EQ(rig.Value("sync_losses"), 1);
  EXPECT_EQ(rig.reason(), SyncReason::kCamMissing);
}

TEST(AnEvenFlywheel, WithAPinAloneFiresInPairs) {
  profile::Bench bench = WithPin(EvenWheel(60), {2});
  bench.controller->decoder.firing = profile::Firing::kPaired;
  Rig rig(bench, 30);
  EXPECT_GE(rig.DegreesUntil(SyncState::kPositionKnown, 2, 900), 0);
  rig.Turns(8, 900);
  EXPECT_EQ(rig.reason(), SyncReason::kNone);
  for (const auto& [cylinder, deg] : SparksAt(rig, 30, 900)) {
    EXPECT_EQ(deg % 360, cylinder == 1 || cylinder == 4 ? 350 : 170) << cylinder;
  }
}

// It tells nothing that the gap does not.
TEST(APinListedBeforeTheCam, LeavesTheCamToTellTheTurn) {
  Rig rig(WithPin(EvenWheel(36, {36}), {2, 1}), 77);
  EXPECT_GE(rig.DegreesUntil(SyncState::kSynchronised, 4, 900), 0);
  rig.Turns(8, 900);
  EXPECT_EQ(rig.reason(), SyncReason::kNone);
  ExpectSparksInPlace(rig, 77);
}

// ---- by level -----------------------------------------------------------------------------------

// A half-moon: a tooth in front of the sensor for one turn of the crank, none for the other.
profile::Bench HalfMoon(bool by_level) {
  profile::Bench bench = WithCam(FourCylinder(EvenWheel(36, {36})), WheelOf({{10, 190}}), false);
  bench.controller->triggers[1].by_level = by_level;
  return bench;
}

// From any start the gap passes within a turn, and two teeth more show it from both sides; the
// level may not be asked within 20 degrees of an edge, which is 20 degrees after the gap in each
// turn.
TEST(ALevel, TellsTheTurnAsSoonAsTheGapIsSeen) {
  for (double start_deg = 1; start_deg < 720; start_deg += 37) {
    Rig rig(HalfMoon(true), start_deg);
    const double until_deg = rig.DegreesUntil(SyncState::kSynchronised, 2, 900);
    EXPECT_GE(until_deg, 0) << "from " << start_deg;
    EXPECT_LE(until_deg, 360 + 4 * 10 + 40) << "from " << start_deg;
    rig.Turns(8, 900);
    EXPECT_EQ(rig.Value("sync_losses"), 0);
    EXPECT_NEAR(rig.Value("cam_angle.cam"), 0, 0.01);
    ExpectSparksInPlace(rig, start_deg);
  }
}

// The twin: its edge comes once in two turns.
TEST(ALevel, IsKnownSoonerThanAnEdge) {
  double later = 0;
  for (double start_deg = 1; start_deg < 720; start_deg += 37) {
    Rig level(HalfMoon(true), start_deg), edge(HalfMoon(false), start_deg);
    const double by_level = level.DegreesUntil(SyncState::kSynchronised, 3, 900);
    const double by_edge = edge.DegreesUntil(SyncState::kSynchronised, 3, 900);
    later = std::max(later, by_edge - by_level);
  }
  EXPECT_GT(later, 180);
}

// Once it has contradicted, both levels must come before it is asked again.
TEST(ALevel, ThatNeverChangesIsBelievedOnceAtMost) {
  for (const bool from_begin : {true, false}) {
    Rig rig(HalfMoon(true));
    rig.shafts[1].fitted = !from_begin;
    rig.Turns(6, 900);
    rig.shafts[1].fitted = false;
    rig.Turns(12, 900);
    EXPECT_LE(rig.Value("sync_losses"), 1);
    EXPECT_EQ(rig.state(), SyncState::kPositionKnown);
    EXPECT_EQ(rig.reason(), SyncReason::kCamUnexpected);
    rig.shafts[1].fitted = true;
    rig.Turns(4, 900);
    EXPECT_EQ(rig.state(), SyncState::kSynchronised);
  }
}

}  // namespace
}  // namespace drycrank::standin
