// SPDX-License-Identifier: Apache-2.0
#include "trigger/advance.h"

#include <gtest/gtest.h>

#include "tests/engine/oracle.h"
#include "tests/trigger/wheels.h"

namespace drycrank::trigger {
namespace {

using testing::Hold;
using testing::Ramp;

engine::Motion From(const Segment& segment) {
  engine::Motion motion;
  motion.Begin(0, segment);
  return motion;
}

CrankAngle Degrees(double deg) { return CrankAngle::FromDegrees(0, deg); }

TEST(Advance, IsABrokenLine) {
  // 10 deg, from 1 s on 5 deg/s, until 3 s: 20 deg.
  const Advance advance{kNsPerS, 10, 5, 3 * kNsPerS};
  EXPECT_DOUBLE_EQ(advance.DegAt(0), 10);
  EXPECT_DOUBLE_EQ(advance.DegAt(2 * kNsPerS), 15);
  EXPECT_DOUBLE_EQ(advance.DegAt(9 * kNsPerS), 20);
}

TEST(Advance, ConstantOneBringsTheEdgeEarlier) {
  // 60 r/min = 360 deg/s: 36 deg earlier is 0.1 s earlier.
  EXPECT_EQ(TimeOfEdge(From(Hold(60)), {.begin_deg = 36}, Degrees(360), 0), 900 * kNsPerMs);
}

TEST(Advance, MovingOneAddsToTheShaftsSpeed) {
  const engine::Motion motion = From(Hold(60));
  // 360 deg/s + 40 deg/s: 200 deg after 0.5 s.
  EXPECT_EQ(TimeOfEdge(motion, {0, 0, 40, kNsPerS}, Degrees(200), 0), 500 * kNsPerMs);
  // Only from 1 s to 2 s: 360 + 400 deg at 2 s, from then 360 deg/s again: 940 deg at 2.5 s.
  const Advance later{kNsPerS, 0, 40, 2 * kNsPerS};
  EXPECT_EQ(TimeOfEdge(motion, later, Degrees(180), 0), 500 * kNsPerMs);
  EXPECT_EQ(TimeOfEdge(motion, later, Degrees(560), 0), 1500 * kNsPerMs);
  EXPECT_EQ(TimeOfEdge(motion, later, Degrees(940), 0), 2500 * kNsPerMs);
}

TEST(Advance, CamMovesAlsoWhileTheCrankStands) {
  EXPECT_EQ(TimeOfEdge({}, {0, 0, 40, kNsPerS}, Degrees(10), 0), 250 * kNsPerMs);
  EXPECT_EQ(TimeOfEdge({}, {0, 0, 40, kNsPerS}, Degrees(50), 0), kNever);
  EXPECT_EQ(TimeOfEdge({}, {0, 0, 40, kNever}, Degrees(50), 0), 1250 * kNsPerMs);
  EXPECT_EQ(TimeOfEdge({}, {0, 0, -40, kNever}, Degrees(50), 0), kNever);
}

TEST(Advance, EdgeInThePastComesAtOnce) {
  const engine::Motion motion = From(Hold(60));
  EXPECT_EQ(TimeOfEdge(motion, {}, Degrees(10), kNsPerS), kNsPerS);
  EXPECT_EQ(TimeOfEdge(motion, {0, 0, 40, 2 * kNsPerS}, Degrees(10), kNsPerS), kNsPerS);
}

// theta(t) by quadrature of the speed, the advance from its definition, the root by bisection.
TEST(Advance, EdgeIsWithin1NsOfQuadrature) {
  const Segment segments[] = {
      Hold(20000),
      Ramp(600, 20000, 2),
      {.kind = SegmentKind::kCrank, .speed_rpm = 200, .ripple = 0.5, .per_turn = 2}};
  for (const Segment& segment : segments) {
    const engine::Motion motion = From(segment);
    const quadrature::Oracle oracle(segment);
    for (const double slope : {50.0, -50.0, 300.0}) {
      for (const double deg : {31.0, 180.0, 300.0}) {
        const Advance advance{0, 3, slope, 2 * kNsPerS};
        const auto missing = [&](quadrature::Real t) {
          return oracle.DegAt(t) + 3 + slope * t - deg;
        };
        const quadrature::Real exact_s = quadrature::Root(missing, 0, 2);
        const TimeNs t_ns = TimeOfEdge(motion, advance, Degrees(deg), 0);
        EXPECT_LT(std::abs(static_cast<quadrature::Real>(t_ns) - exact_s * 1e9L), 0.6L);
      }
    }
  }
}

TEST(Advance, CamThatRetardsFasterThanTheCrankTurnsMeetsTheEdgeForGood) {
  // 360 deg/s - 720 deg/s from 0.5 to 1 s: back to 0 deg at 1 s, then 360 deg/s: 200 deg at 1.5556
  // s.
  const TimeNs t_ns = TimeOfEdge(From(Hold(60)), {kNsPerS / 2, 0, -720, kNsPerS}, Degrees(200), 0);
  EXPECT_EQ(t_ns, 1'555'555'556);
}

}  // namespace
}  // namespace drycrank::trigger
