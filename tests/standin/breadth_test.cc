// SPDX-License-Identifier: Apache-2.0
//
// Wheels whose place takes more than one gap and one cam edge: two equal gaps, widths, no cam, a tooth
// a turn. Waves of rig.h, worked out by hand. The wheels' shapes are common practice, no source.
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

// Crank degrees of all sparks, [0, 720), at a steady speed that began at `t0_ns` at `start_deg`.
std::multiset<std::pair<int, int>> SparksAt(const Rig& rig, double start_deg, double rpm) {
  std::multiset<std::pair<int, int>> sparks;
  for (const OutputEvent& event : rig.events) {
    if (event.kind != OutputKind::kCoil || event.on) continue;
    const double deg = start_deg + 6 * rpm * ToSeconds(event.t_ns);
    sparks.insert({event.cylinder, static_cast<int>(std::lround(std::fmod(deg, 720)))});
  }
  return sparks;
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

}  // namespace
}  // namespace drycrank::standin
