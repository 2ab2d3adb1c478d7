// SPDX-License-Identifier: Apache-2.0
//
// Injection and ignition. Firing orders: tests/reference/crank_cam.yaml (inline_4, v8_cross_plane).
#include <gtest/gtest.h>

#include <cmath>

#include "standin/rig.h"

namespace drycrank::standin {
namespace {

std::vector<OutputEvent> Of(const Rig& rig, OutputKind kind, bool on) {
  std::vector<OutputEvent> found;
  for (const OutputEvent& event : rig.events) {
    if (event.kind == kind && event.on == on) found.push_back(event);
  }
  return found;
}

// Crank degrees since the start at steady speed from angle 0: 6 rpm t.
double DegAt(TimeNs t_ns, double rpm) { return 6 * rpm * ToSeconds(t_ns); }

void ExpectOrder(const std::vector<OutputEvent>& events, const std::vector<int>& order) {
  ASSERT_GE(events.size(), 2 * order.size());
  std::size_t at = 0;
  while (order[at] != events[0].cylinder) ++at;
  for (std::size_t i = 0; i < events.size(); ++i) {
    EXPECT_EQ(events[i].cylinder, order[(at + i) % order.size()]) << "event " << i;
  }
}

TEST(FiringPlan, InlineFourFiresInOrderAtItsAngles) {
  Rig rig(FourCylinder(EvenWheel(60, {59, 60})));
  rig.Turns(8, 1000);
  const auto sparks = Of(rig, OutputKind::kCoil, false);
  ExpectOrder(sparks, {1, 3, 4, 2});
  const int place[] = {0, 0, 3, 1, 2};  // by cylinder: firing at 0, 180, 360, 540
  for (const OutputEvent& spark : sparks) {
    // 10 degrees before firing top dead centre.
    const double expected_deg = 180.0 * place[spark.cylinder] - 10;
    EXPECT_NEAR(std::remainder(DegAt(spark.t_ns, 1000) - expected_deg, 720), 0, 0.01);
  }
}

// The spark of cylinder 3 is due at 170 degrees, between teeth at 168 and 174. An edge of noise at
// 167, taken for the one of 168, promises 6 degrees in the time of 5, and the spark 1.67 degrees
// after it. The tooth at 168 shows that one of both was none: the coil, on since before both, goes
// off when it was to go off then.
TEST(FiringPlan, ACoilThatIsOnForgetsAnEdgeThatWasNoTooth) {
  Rig rig(FourCylinder(EvenWheel(60, {59, 60})));
  const double noise_deg = 4 * 360 + 167;
  rig.spoil = [&](std::vector<Rig::Piece>& pieces) {
    const auto t_ns = static_cast<TimeNs>(noise_deg / (6 * 1000.0) * 1e9);
    pieces.push_back({0, {t_ns, kNever, 0.1, 0.1, 0}});
    pieces.push_back({0, {t_ns + 100'000, kNever, 4.9, 4.9, 0}});
  };
  rig.Turns(5, 1000);
  const auto sparks = Of(rig, OutputKind::kCoil, false);
  ASSERT_FALSE(sparks.empty());
  EXPECT_EQ(rig.Value("sync_losses"), 1);
  EXPECT_NEAR(DegAt(sparks.back().t_ns, 1000), 4 * 360 + 170, 0.05);
}

// 10 degrees before top dead centre, and 12 behind that: 2 after it.
TEST(FiringPlan, TrailingCoilsFireBehindTheOthers) {
  profile::Bench bench = FourCylinder(EvenWheel(60, {59, 60}));
  bench.controller->decoder.trailing_deg = 12;
  Rig rig(bench);
  rig.Turns(8, 1000);
  const auto sparks = Of(rig, OutputKind::kTrailingCoil, false);
  ExpectOrder(sparks, {1, 3, 4, 2});
  const int place[] = {0, 0, 3, 1, 2};
  for (const OutputEvent& spark : sparks) {
    const double expected_deg = 180.0 * place[spark.cylinder] + 2;
    EXPECT_NEAR(std::remainder(DegAt(spark.t_ns, 1000) - expected_deg, 720), 0, 0.01);
  }
}

TEST(FiringPlan, NoTrailingCoilFiresThatNobodyTold) {
  Rig rig(FourCylinder(EvenWheel(60, {59, 60})));
  rig.Turns(8, 1000);
  EXPECT_TRUE(Of(rig, OutputKind::kTrailingCoil, false).empty());
}

TEST(FiringPlan, DwellAndInjectionLastAsConfigured) {
  Rig rig(FourCylinder(EvenWheel(60, {59, 60})));
  rig.Turns(8, 1000);
  for (const auto& [kind, ms] : {std::pair{OutputKind::kCoil, 3.0}, {OutputKind::kInjector, 4.0}}) {
    const auto ons = Of(rig, kind, true);
    const auto offs = Of(rig, kind, false);
    ASSERT_GE(offs.size(), 8u);
    for (std::size_t i = 4; i < offs.size(); ++i) {  // the first may have begun late
      EXPECT_EQ(ons[i].cylinder, offs[i].cylinder);
      EXPECT_NEAR(ToMs(offs[i].t_ns - ons[i].t_ns), ms, 0.001);
    }
  }
}

TEST(FiringPlan, InjectionEndsBeforeTheIntakeStroke) {
  Rig rig(FourCylinder(EvenWheel(60, {59, 60})));
  rig.Turns(8, 1000);
  const auto ends = Of(rig, OutputKind::kInjector, false);
  ASSERT_GE(ends.size(), 8u);
  for (std::size_t i = 4; i < ends.size(); ++i) {
    if (ends[i].cylinder != 1) continue;
    // Intake top dead centre of cylinder 1 at 360, 60 before it: 300.
    EXPECT_NEAR(std::remainder(DegAt(ends[i].t_ns, 1000) - 300, 720), 0, 0.01);
  }
}

TEST(FiringPlan, V8FiresInItsOrder) {
  profile::Bench bench = FourCylinder(EvenWheel(36, {36}));
  bench.controller->decoder.firing_order = {1, 8, 4, 3, 6, 5, 7, 2};
  bench.controller->decoder.firing_angles_deg = {0, 90, 180, 270, 360, 450, 540, 630};
  Rig rig(bench);
  rig.Turns(10, 3000);
  ExpectOrder(Of(rig, OutputKind::kCoil, false), {1, 8, 4, 3, 6, 5, 7, 2});
  ExpectOrder(Of(rig, OutputKind::kInjector, false), {1, 8, 4, 3, 6, 5, 7, 2});
}

TEST(FiringPlan, WrongOrderInTheConfigurationComesOut) {
  profile::Bench bench = FourCylinder(EvenWheel(36, {36}));
  bench.controller->decoder.firing_order = {1, 2, 4, 3};
  Rig rig(bench);
  rig.Turns(8, 1000);
  ExpectOrder(Of(rig, OutputKind::kCoil, false), {1, 2, 4, 3});
}

TEST(FiringPlan, TwoStrokeFiresEveryTurn) {
  Rig rig(TwoStroke(EvenWheel(36, {36})));
  rig.Turns(12, 3000);
  const auto sparks = Of(rig, OutputKind::kCoil, false);
  EXPECT_GE(sparks.size(), 10u);
  for (const OutputEvent& spark : sparks) {
    EXPECT_NEAR(std::remainder(DegAt(spark.t_ns, 3000) + 10, 360), 0, 0.01);
  }
}

TEST(FiringPlan, NothingHappensUntilSynchronised) {
  Rig rig(FourCylinder(EvenWheel(36, {36})));
  rig.shafts[1].fitted = false;
  rig.Turns(6, 1000);
  EXPECT_EQ(rig.state(), SyncState::kPositionKnown);
  EXPECT_TRUE(rig.events.empty());
  EXPECT_EQ(rig.Value("ignitions"), 0);
}

TEST(FiringPlan, CountsWhatItDoes) {
  Rig rig(FourCylinder(EvenWheel(36, {36})));
  rig.Turns(20, 1000);
  EXPECT_EQ(rig.Value("ignitions"), static_cast<double>(Of(rig, OutputKind::kCoil, false).size()));
  EXPECT_EQ(rig.Value("injections"),
            static_cast<double>(Of(rig, OutputKind::kInjector, true).size()));
  // Four in each cycle of two turns, less about one cycle for finding the place.
  EXPECT_NEAR(rig.Value("ignitions"), 38, 3);
  EXPECT_EQ(rig.controller.dropped(), 0);
}

TEST(FiringPlan, WhatWasBegunEndsWhenTheEngineStops) {
  Rig rig(FourCylinder(EvenWheel(60, {59, 60})));
  rig.Turns(4, 1000);
  rig.Turn(160, 1000);  // coil of the cylinder at 180 is on: 3 ms are 18 degrees before 170
  rig.Wait(1000);
  EXPECT_EQ(Of(rig, OutputKind::kCoil, true).size(), Of(rig, OutputKind::kCoil, false).size());
  EXPECT_EQ(Of(rig, OutputKind::kInjector, true).size(),
            Of(rig, OutputKind::kInjector, false).size());
}

TEST(FiringPlan, OnAndOffAlternateThroughSpeedChanges) {
  Rig rig(FourCylinder(EvenWheel(60, {59, 60})));
  rig.Turns(3, 800);
  for (int i = 0; i < 10; ++i) {
    rig.Ramp(1440, 800, 6000);
    rig.Ramp(1440, 6000, 800);
  }
  bool on[5] = {};
  for (const OutputEvent& event : rig.events) {
    if (event.kind != OutputKind::kCoil) continue;
    EXPECT_NE(on[event.cylinder], event.on);
    on[event.cylinder] = event.on;
  }
  // 40 cycles of 4, and half of the three turns before.
  EXPECT_NEAR(rig.Value("ignitions"), 4 * 40 + 4, 3);
}

TEST(FiringPlan, StopsAtTheSpeedLimit) {
  profile::Bench bench = FourCylinder(EvenWheel(60, {59, 60}));
  bench.controller->decoder.rev_limit_rpm = 6500;
  Rig rig(bench);
  rig.Turns(6, 6400);
  const double before = rig.Value("ignitions");
  EXPECT_GT(before, 0);
  rig.Turns(1, 6600);
  const double at_limit = rig.Value("ignitions");
  rig.Turns(10, 6600);
  EXPECT_EQ(rig.Value("ignitions"), at_limit);
  EXPECT_EQ(rig.state(), SyncState::kSynchronised);
}

// One tooth a turn, at 40 degrees; 3 ms and 4 ms at 3000 r/min are 54 and 72 degrees of crank, so
// that a spark and an injection that end at 45 have begun before the tooth comes.
TEST(FiringPlan, WhatSpansTheOnlyToothOfATurnIsDone) {
  profile::Bench bench = TwoStroke(WheelOf({{40, 70}}));
  bench.controller->decoder.firing_angles_deg = {55};
  bench.controller->decoder.injection_end_deg = 10;
  Rig rig(bench);
  rig.Turns(12, 3000);
  for (const OutputKind kind : {OutputKind::kCoil, OutputKind::kInjector}) {
    const auto offs = Of(rig, kind, false);
    ASSERT_GE(offs.size(), 9u);
    for (std::size_t i = 1; i < offs.size(); ++i) {
      EXPECT_NEAR(std::remainder(DegAt(offs[i].t_ns, 3000) - 45, 360), 0, 0.01);
      EXPECT_NEAR(DegAt(offs[i].t_ns - offs[i - 1].t_ns, 3000), 360, 0.01);
    }
  }
}

// In pairs the second turn's place is the first's and 360: in binary a little less.
TEST(FiringPlan, OneToothAtATenthOfADegreeFiresInEachTurn) {
  for (const double offset_deg : {109.4, 33.3, 250.7}) {
    profile::Bench bench = FourCylinder(WheelOf({{0, 12}}));
    bench.controller->triggers.resize(1);
    bench.controller->triggers[0].offset_deg = offset_deg;
    bench.controller->decoder.cams.clear();
    bench.controller->decoder.firing = profile::Firing::kPaired;
    Rig rig(bench);
    rig.Turns(12, 900);
    for (int cylinder = 1; cylinder <= 4; ++cylinder) {
      int sparks = 0;
      for (const OutputEvent& spark : Of(rig, OutputKind::kCoil, false)) {
        sparks += spark.cylinder == cylinder ? 1 : 0;
      }
      EXPECT_GE(sparks, 9) << offset_deg << ", cylinder " << cylinder;
    }
  }
}

// 2 ms are 36 degrees, and the spark is due 32.9 after the tooth: it is to begin 3.1 before it.
TEST(FiringPlan, WhatBeginsALittleBeforeTheOnlyToothHasItsWholeTime) {
  profile::Bench bench = TwoStroke(WheelOf({{40, 70}}));
  profile::Decoder& decoder = bench.controller->decoder;
  decoder.firing_angles_deg = {40 + 32.9 + 10};
  decoder.dwell_ms = 2;
  Rig rig(bench);
  rig.Turns(12, 3000);
  const auto ons = Of(rig, OutputKind::kCoil, true), offs = Of(rig, OutputKind::kCoil, false);
  ASSERT_GE(offs.size(), 9u);
  for (std::size_t i = 2; i < offs.size(); ++i) {
    EXPECT_NEAR(ToMs(offs[i].t_ns - ons[i].t_ns), 2, 0.001);
    EXPECT_NEAR(std::remainder(DegAt(offs[i].t_ns, 3000) - 72.9, 360), 0, 0.01);
  }
}

// Six places, one without tooth, cranked with a ripple that makes a tooth come sooner than the
// interval before it says: before the coil was to be charged, or after its spark was due.
TEST(FiringPlan, AToothThatComesSoonerThanPredictedCostsNoSpark) {
  profile::Bench bench = FourCylinder(EvenWheel(6, {6}));
  for (double advance_deg = 5; advance_deg < 65; ++advance_deg) {
    bench.controller->decoder.advance_deg = advance_deg;
    Rig rig(bench);
    rig.TurnWithRipple(360 * 14, 220, 0.25);
    for (int cylinder = 1; cylinder <= 4; ++cylinder) {
      int sparks = 0;
      for (const OutputEvent& spark : Of(rig, OutputKind::kCoil, false)) {
        sparks += spark.cylinder == cylinder ? 1 : 0;
      }
      EXPECT_GE(sparks, 5) << cylinder << ", advance " << advance_deg;
    }
  }
}

}  // namespace
}  // namespace drycrank::standin
