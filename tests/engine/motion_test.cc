// SPDX-License-Identifier: Apache-2.0
#include "engine/motion.h"

#include <gtest/gtest.h>

#include "tests/engine/oracle.h"
#include "types/random.h"

namespace drycrank::engine {
namespace {

using quadrature::Oracle;
using quadrature::Real;

Segment Hold(double rpm) { return {.kind = SegmentKind::kHold, .speed_rpm = rpm}; }
Segment Ramp(double from_rpm, double to_rpm, double duration_s) {
  return {.kind = SegmentKind::kRamp,
          .speed_rpm = from_rpm,
          .to_rpm = to_rpm,
          .duration_s = duration_s};
}
Segment Sine(double rpm, double amplitude_rpm, double period_s) {
  return {.kind = SegmentKind::kSine,
          .speed_rpm = rpm,
          .amplitude_rpm = amplitude_rpm,
          .period_s = period_s};
}
Segment Crank(double rpm, double ripple, double per_turn = 2) {
  return {.kind = SegmentKind::kCrank, .speed_rpm = rpm, .ripple = ripple, .per_turn = per_turn};
}

Motion From(const Segment& segment) {
  Motion motion;
  motion.Begin(0, segment);
  return motion;
}

CrankAngle Degrees(double deg) { return CrankAngle::FromDegrees(0, deg); }

double TotalDeg(CrankAngle angle) { return angle.Minus({}); }

// How far a time in whole nanoseconds is from the exact one; rounding alone makes it up to 0.5.
Real NsOff(TimeNs t_ns, Real exact_s) { return std::abs(static_cast<Real>(t_ns) - exact_s * 1e9L); }

// Edges every 6 degrees (60 teeth) over the first `seconds`, a spread of them, within 1 ns.
void ExpectEdgesWithin1Ns(const Segment& segment, double seconds) {
  const Motion motion = From(segment);
  const Oracle oracle(segment);
  const Real end_deg = oracle.DegAt(seconds);
  Random random(1, 0);
  for (int i = 0; i < 100; ++i) {
    const double deg = 6 * std::floor(static_cast<double>(end_deg) * random.Uniform() / 6);
    const Real exact_s = oracle.TimeAt(deg, 0, seconds);
    EXPECT_LT(NsOff(motion.TimeAt(Degrees(deg)), exact_s), 0.6L) << "edge at " << deg << " deg";
  }
}

// ---- values worked by hand ---------------------------------------------------------------------

TEST(Motion, StandsStillAtFirst) {
  EXPECT_DOUBLE_EQ(TotalDeg(Motion(CrankAngle{3, 20}).AngleAt(kNsPerS)), 3 * 360 + 20);
  EXPECT_EQ(Motion().TimeAt(Degrees(1)), kNever);
  EXPECT_EQ(Motion().SpeedRpmAt(5), 0);
}

TEST(Motion, TurnsOncePerSecondAt60) {
  const Motion motion = From(Hold(60));
  EXPECT_DOUBLE_EQ(TotalDeg(motion.AngleAt(kNsPerS)), 360);
  EXPECT_EQ(motion.TimeAt(Degrees(90)), 250 * kNsPerMs);
}

TEST(Motion, RampTurnsByTheMeanSpeed) {
  // 0 to 1200 r/min (7200 deg/s) in 2 s: 2 s * 3600 deg/s = 7200 deg; half of the time gives a
  // quarter.
  const Motion motion = From(Ramp(0, 1200, 2));
  EXPECT_DOUBLE_EQ(TotalDeg(motion.AngleAt(2 * kNsPerS)), 7200);
  EXPECT_DOUBLE_EQ(TotalDeg(motion.AngleAt(kNsPerS)), 1800);
  EXPECT_EQ(motion.TimeAt(Degrees(1800)), kNsPerS);
  EXPECT_DOUBLE_EQ(motion.SpeedRpmAt(kNsPerS), 600);
}

TEST(Motion, RampGoesOnAtTheSpeedReached) {
  const Motion motion = From(Ramp(0, 1200, 2));
  EXPECT_DOUBLE_EQ(TotalDeg(motion.AngleAt(3 * kNsPerS)), 7200 + 7200);
  EXPECT_EQ(motion.TimeAt(Degrees(14400)), 3 * kNsPerS);
  EXPECT_DOUBLE_EQ(motion.SpeedRpmAt(3 * kNsPerS), 1200);
}

TEST(Motion, RampOfNoLengthIsAStep) {
  const Motion motion = From(Ramp(100, 60, 0));
  EXPECT_DOUBLE_EQ(TotalDeg(motion.AngleAt(kNsPerS)), 360);
  EXPECT_EQ(motion.TimeAt(Degrees(360)), kNsPerS);
}

TEST(Motion, RampToStandstillReachesNothingBeyond) {
  // 1200 to 0 in 2 s turns 7200 deg.
  const Motion motion = From(Ramp(1200, 0, 2));
  EXPECT_EQ(motion.TimeAt(Degrees(7200)), 2 * kNsPerS);
  EXPECT_EQ(motion.TimeAt(Degrees(7200.001)), kNever);
  EXPECT_DOUBLE_EQ(TotalDeg(motion.AngleAt(100 * kNsPerS)), 7200);
}

TEST(Motion, SineComesBackToTheMeanEachPeriod) {
  // Mean 600 r/min = 3600 deg/s; after half a period of 2 s the swing adds A/W * 2 =
  // 300 * 6 / pi * 2 = 1145.9156 deg.
  const Motion motion = From(Sine(600, 300, 2));
  EXPECT_NEAR(TotalDeg(motion.AngleAt(kNsPerS)), 3600 + 1145.9156, 1e-4);
  EXPECT_NEAR(TotalDeg(motion.AngleAt(2 * kNsPerS)), 7200, 1e-9);
  EXPECT_DOUBLE_EQ(motion.SpeedRpmAt(kNsPerS / 2), 900);
  EXPECT_DOUBLE_EQ(motion.SpeedRpmAt(3 * kNsPerS / 2), 300);
}

TEST(Motion, CrankingIsSlowestAtEachCompression) {
  // r = 0.25: 200 / 1.25 = 160 r/min at top dead centre, 200 / 0.75 = 266.67 half-way between.
  const Motion motion = From(Crank(200, 0.25));
  for (const int deg : {0, 180, 360, 540, 720}) {
    EXPECT_NEAR(motion.SpeedRpmAt(motion.TimeAt(Degrees(deg))), 160, 1e-3) << deg;
    EXPECT_NEAR(motion.SpeedRpmAt(motion.TimeAt(Degrees(deg + 90))), 266.6667, 1e-3) << deg;
  }
}

TEST(Motion, CrankingKeepsItsMeanOverEachFiringInterval) {
  // 200 r/min = 1200 deg/s; a three-cylinder four-stroke fires every 240 deg = 0.2 s.
  const Motion motion = From(Crank(200, 0.6, 1.5));
  for (int k = 1; k <= 9; ++k) EXPECT_EQ(motion.TimeAt(Degrees(240 * k)), k * 200 * kNsPerMs);
}

TEST(Motion, CompressionsStayWhereTheyAreWhenCrankingBeginsElsewhere) {
  Motion motion(CrankAngle{1, 100});  // 460 deg into the cycle: next compression of N = 1.5 at 480
  motion.Begin(0, Crank(200, 0.5, 1.5));
  EXPECT_NEAR(motion.SpeedRpmAt(motion.TimeAt({1, 120})), 200 / 1.5, 1e-3);
  EXPECT_NEAR(motion.SpeedRpmAt(motion.TimeAt({1, 240})), 200 / 0.5, 1e-2);
}

TEST(Motion, NothingTurnsAtSpeedZero) {
  for (const Segment& s : {Hold(0), Sine(0, 0, 1), Crank(0, 0.25), Ramp(0, 0, 1)}) {
    const Motion motion = From(s);
    EXPECT_NEAR(TotalDeg(motion.AngleAt(kNsPerS)), 0, 1e-12);
    EXPECT_EQ(motion.TimeAt(Degrees(1e-3)), kNever);
    EXPECT_EQ(motion.SpeedRpmAt(kNsPerS), 0);
  }
}

TEST(Motion, AnAnglePassedGivesTheSegmentsBegin) {
  Motion motion = From(Hold(60));
  motion.Begin(kNsPerS, Hold(120));
  EXPECT_EQ(motion.TimeAt(Degrees(10)), kNsPerS);
}

// ---- against quadrature -------------------------------------------------------------------------

TEST(MotionQuadrature, Hold) {
  for (const double rpm : {1.0, 150.0, 833.3, 6000.0, 20000.0}) ExpectEdgesWithin1Ns(Hold(rpm), 50);
}

TEST(MotionQuadrature, Ramp) {
  ExpectEdgesWithin1Ns(Ramp(0, 20000, 3), 4);
  ExpectEdgesWithin1Ns(Ramp(20000, 0, 3), 3);
  ExpectEdgesWithin1Ns(Ramp(20000, 800, 0.2), 1);
  ExpectEdgesWithin1Ns(Ramp(900, 901, 30), 31);
}

TEST(MotionQuadrature, RampsLastDegreesBeforeStandstill) {
  // 3 s from 20,000 r/min turn 180,000 deg. The last edges, where speed goes to nothing.
  const Motion motion = From(Ramp(20000, 0, 3));
  const Oracle oracle(Ramp(20000, 0, 3));
  for (const double left_deg : {6.0, 1.0, 0.1, 0.01, 0.001}) {
    const double deg = 180000 - left_deg;
    EXPECT_LT(NsOff(motion.TimeAt(Degrees(deg)), oracle.TimeAt(deg, 0, 3)), 0.6L) << left_deg;
  }
}

TEST(MotionQuadrature, Sine) {
  ExpectEdgesWithin1Ns(Sine(10000, 9000, 2), 5);
  ExpectEdgesWithin1Ns(Sine(800, 40, 0.5), 4);
  ExpectEdgesWithin1Ns(Sine(3000, -2000, 1), 3);
}

TEST(MotionQuadrature, Cranking) {
  ExpectEdgesWithin1Ns(Crank(200, 0.25), 5);
  ExpectEdgesWithin1Ns(Crank(120, 0.9, 0.5), 10);
  ExpectEdgesWithin1Ns(Crank(250, 0.7, 1.5), 5);
  ExpectEdgesWithin1Ns(Crank(20000, 0.25, 4), 0.5);
  ExpectEdgesWithin1Ns(Crank(20000, 0.9, 1), 0.5);
}

TEST(MotionQuadrature, AngleAtAnyInstant) {
  // 1 ns of the speed at that instant is the tolerance in degrees.
  const Segment segments[] = {Hold(20000),           Ramp(100, 20000, 2), Ramp(15000, 0, 2),
                              Sine(9000, 8500, 0.7), Crank(200, 0.25),    Crank(20000, 0.9, 1.5)};
  for (const Segment& segment : segments) {
    const Motion motion = From(segment);
    const Oracle oracle(segment);
    Random random(2, 0);
    for (int i = 0; i < 20; ++i) {
      const auto t_ns = static_cast<TimeNs>(2.5e8 * random.Uniform());
      const Real off = std::abs(TotalDeg(motion.AngleAt(t_ns)) - oracle.DegAt(t_ns * 1e-9L));
      EXPECT_LT(off, motion.SpeedRpmAt(t_ns) * 6e-9 + 1e-12) << t_ns;
    }
  }
}

TEST(MotionQuadrature, ADayAt20000) {
  // One segment for 24 h: 28.8 million turns.
  const double rpm = 19999.7;
  const Motion motion = From(Hold(rpm));
  const Oracle oracle(Hold(rpm));
  const std::int64_t turns = 28'799'568 - 1;  // 1440 min * 19999.7 = 28,799,568
  for (const double deg : {0.0, 6.0, 123.0, 354.0}) {
    const Real exact_s = oracle.TimeAt(static_cast<Real>(turns) * 360 + deg, 86399, 86401);
    EXPECT_LT(NsOff(motion.TimeAt({turns, deg}), exact_s), 0.6L);
  }
}

// A day's chain: started, revved, held, swung and stopped every half hour, 48 times. The last
// segment's edges, slow ones too, must still be within 1 ns.
TEST(MotionQuadrature, ADayOfSegments) {
  Motion motion;
  Oracle oracle(Hold(0));
  TimeNs t_ns = 0;
  const auto begin = [&](TimeNs after_ns, const Segment& segment) {
    t_ns += after_ns;
    motion.Begin(t_ns, segment);
    oracle.Begin(static_cast<Real>(t_ns) * 1e-9L, segment);
  };
  for (int half_hour = 0; half_hour < 48; ++half_hour) {
    begin(half_hour == 0 ? 0 : 400 * kNsPerS + 7, Crank(211.3, 0.3));
    begin(1'234'567'891, Ramp(230, 1150, 0.7));
    begin(2 * kNsPerS + 1, Ramp(1150, 19876.5, 7.77));
    begin(1000 * kNsPerS + 3, Sine(9000, 8000, 3.3));
    begin(390'765'432'101, Ramp(9000, 0, 2.2));
  }
  begin(400 * kNsPerS, Crank(187.7, 0.25));
  ASSERT_GT(t_ns, 23 * 3600 * kNsPerS + 1800 * kNsPerS);
  const CrankAngle now = motion.AngleAt(t_ns);
  for (int edge = 1; edge <= 60; ++edge) {
    const std::int64_t turns = now.turns + 1;
    const Real exact_s = oracle.TimeAt(static_cast<Real>(turns) * 360 + edge * 6, 0, 0);
    EXPECT_LT(NsOff(motion.TimeAt(CrankAngle{turns, 0}.Plus(edge * 6)), exact_s), 0.6L);
  }
}

TEST(Motion, TimeAtIsTheInverseOfAngleAtAfterRandomChanges) {
  Random random(3, 0);
  Motion motion;
  TimeNs t_ns = 0;
  for (int i = 0; i < 2000; ++i) {
    const double rpm = 20 + 9980 * random.Uniform();
    const Segment choice[] = {Hold(rpm), Ramp(rpm, 20000 * random.Uniform() + 1, random.Uniform()),
                              Sine(rpm, rpm * 0.9 * random.Uniform(), 0.01 + random.Uniform()),
                              Crank(rpm, 0.9 * random.Uniform(), 0.5 * (1 + i % 8))};
    motion.Begin(t_ns, choice[random.Next() % 4]);
    const TimeNs later_ns = t_ns + static_cast<TimeNs>(1e9 * random.Uniform());
    EXPECT_NEAR(static_cast<double>(motion.TimeAt(motion.AngleAt(later_ns)) - later_ns), 0, 1);
    t_ns += static_cast<TimeNs>(1e9 * random.Uniform());
  }
}

// At no speed, however its zero is written, no further angle is ever reached.
TEST(Motion, NeverTurnsAtMinusZero) {
  for (const Segment& segment :
       {Hold(-0.0), Ramp(-0.0, -0.0, 1), Sine(-0.0, 0, 1), Crank(-0.0, 0.2)}) {
    EXPECT_EQ(From(segment).TimeAt(Degrees(6)), kNever);
  }
  EXPECT_EQ(From(Hold(5e-324)).TimeAt(Degrees(6)), kNever);  // 1e323 s are after the end of time
}

// ---- swinging back -----------------------------------------------------------------------------

// 12 degrees in 0.15 s: a = 6 (1 - cos(pi t / 0.15)), so A = 6 pi / 0.15 deg/s = 20.944 r/min; after a
// third of the time 6 (1 - 1/2) = 3 degrees, after half 6 at full speed, after all of it 12, at rest.
Segment Back() {
  return {.kind = SegmentKind::kBack, .duration_s = 0.15, .amplitude_rpm = 20.943951023931955};
}

TEST(Motion, SwingsBackAndRests) {
  Motion motion(Degrees(100));
  motion.Begin(0, Back());
  EXPECT_NEAR(TotalDeg(motion.AngleAt(50 * kNsPerMs)), 97, 1e-9);
  EXPECT_NEAR(TotalDeg(motion.AngleAt(75 * kNsPerMs)), 94, 1e-9);
  EXPECT_NEAR(TotalDeg(motion.AngleAt(150 * kNsPerMs)), 88, 1e-9);
  EXPECT_NEAR(TotalDeg(motion.AngleAt(kNsPerS)), 88, 1e-9);
  EXPECT_NEAR(motion.SpeedRpmAt(75 * kNsPerMs), -20.943951023931955, 1e-9);
  EXPECT_EQ(motion.SpeedRpmAt(kNsPerS), 0);
}

TEST(Motion, MeetsAnAngleBehindAndNoneAhead) {
  Motion motion(Degrees(100));
  motion.Begin(0, Back());
  EXPECT_EQ(motion.TimeAt(Degrees(97)), 50 * kNsPerMs);
  EXPECT_EQ(motion.TimeAt(Degrees(94)), 75 * kNsPerMs);
  EXPECT_EQ(motion.TimeAt(Degrees(100.1)), kNever);
  EXPECT_EQ(motion.TimeAt(Degrees(87.9)), kNever);
}

TEST(Motion, GoesForwardFromWhereItHasSwungTo) {
  Motion motion(Degrees(100));
  motion.Begin(0, Back());
  motion.Begin(kNsPerS, Hold(1000));
  EXPECT_NEAR(TotalDeg(motion.AngleAt(kNsPerS + 10 * kNsPerMs)), 88 + 60, 1e-9);
}

}  // namespace
}  // namespace drycrank::engine
