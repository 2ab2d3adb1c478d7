// SPDX-License-Identifier: Apache-2.0
// Values and areas worked by hand from the figures (rectangles, trapeziums, half sine waves).
#include <gtest/gtest.h>

#include <numbers>

#include "scenario/timeline.h"

namespace drycrank::scenario {
namespace {

using profile::DriveKind;

TimeNs S(double seconds) { return FromSeconds(seconds); }

Track Ramp(double from, double to, double over_s) {
  Track track;
  track.kind = DriveKind::kRamp;
  track.begin_ns = S(10);
  track.from = from;
  track.to = to;
  track.over_s = over_s;
  return track;
}

Track Sine(double mean, double amplitude, double period_s) {
  Track track;
  track.kind = DriveKind::kSine;
  track.to = mean;
  track.amplitude = amplitude;
  track.period_s = period_s;
  return track;
}

TEST(Track, HoldIsARectangle) {
  Track track;
  track.begin_ns = S(10);
  track.to = 800;
  EXPECT_DOUBLE_EQ(track.Value(S(12)), 800);
  EXPECT_DOUBLE_EQ(track.Integral(S(12.5)), 2000);  // 800 * 2.5
  EXPECT_DOUBLE_EQ(track.Integral(S(9)), 0);        // not begun
}

TEST(Track, RampIsATrapeziumThenARectangle) {
  const Track track = Ramp(1000, 3000, 4);
  EXPECT_DOUBLE_EQ(track.Value(S(10)), 1000);
  EXPECT_DOUBLE_EQ(track.Value(S(11)), 1500);
  EXPECT_DOUBLE_EQ(track.Value(S(14)), 3000);
  EXPECT_DOUBLE_EQ(track.Value(S(20)), 3000);
  EXPECT_DOUBLE_EQ(track.Integral(S(11)), 1250);   // (1000 + 1500) / 2 * 1
  EXPECT_DOUBLE_EQ(track.Integral(S(14)), 8000);   // (1000 + 3000) / 2 * 4
  EXPECT_DOUBLE_EQ(track.Integral(S(15)), 11000);  // and 3000 * 1
}

TEST(Track, RampOverNoTimeIsAJump) {
  const Track track = Ramp(1000, 3000, 0);
  EXPECT_DOUBLE_EQ(track.Value(S(10)), 3000);
  EXPECT_DOUBLE_EQ(track.Integral(S(11)), 3000);
}

// Half a wave of amplitude A and period T has the area A T / pi; a whole one none.
TEST(Track, SineSwingsAboutItsMean) {
  const Track track = Sine(50, 10, 2);
  EXPECT_NEAR(track.Value(S(0.5)), 60, 1e-9);
  EXPECT_NEAR(track.Value(S(1.5)), 40, 1e-9);
  EXPECT_NEAR(track.Integral(S(1)), 50 + 20 / std::numbers::pi, 1e-9);
  EXPECT_NEAR(track.Integral(S(2)), 100, 1e-9);
  EXPECT_NEAR(track.Value(S(86400.5)), 60, 1e-6);  // a day later
}

TEST(Track, PointsAreStraightBetweenAndHeldAfter) {
  const Points points = {{0, 10}, {2, 30}, {3, 30}, {5, 0}};
  Track track;
  track.kind = DriveKind::kPoints;
  track.points = &points;
  EXPECT_DOUBLE_EQ(track.Value(S(0)), 10);
  EXPECT_DOUBLE_EQ(track.Value(S(1)), 20);
  EXPECT_DOUBLE_EQ(track.Value(S(4)), 15);
  EXPECT_DOUBLE_EQ(track.Value(S(9)), 0);
  EXPECT_DOUBLE_EQ(track.Integral(S(1)), 15);    // (10 + 20) / 2
  EXPECT_DOUBLE_EQ(track.Integral(S(2)), 40);    // (10 + 30) / 2 * 2
  EXPECT_DOUBLE_EQ(track.Integral(S(4)), 92.5);  // 40 + 30 + (30 + 15) / 2
  EXPECT_DOUBLE_EQ(track.Integral(S(9)), 100);   // 40 + 30 + 30 * 2 / 2 + 0
}

TEST(Track, ExtremesOfARampAreItsEnds) {
  const Range range = Ramp(1000, 3000, 4).Extremes(S(11), S(12));
  EXPECT_DOUBLE_EQ(range.low, 1500);
  EXPECT_DOUBLE_EQ(range.high, 2000);
}

TEST(Track, ExtremesOfASineTakeInItsCrests) {
  const Track track = Sine(50, 10, 2);
  Range range = track.Extremes(S(0.4), S(0.6));  // crest at 0.5 s
  EXPECT_DOUBLE_EQ(range.high, 60);
  EXPECT_GT(range.low, 59);
  range = track.Extremes(S(1.4), S(1.6));  // trough at 1.5 s
  EXPECT_DOUBLE_EQ(range.low, 40);
  range = track.Extremes(S(0.9), S(1.1));  // neither
  EXPECT_LT(range.high, 54);
  EXPECT_GT(range.low, 46);
  range = track.Extremes(S(0), S(7));
  EXPECT_DOUBLE_EQ(range.low, 40);
  EXPECT_DOUBLE_EQ(range.high, 60);
}

TEST(Track, ExtremesOfPointsTakeInCorners) {
  const Points points = {{0, 0}, {1, 10}, {2, 0}};
  Track track;
  track.kind = DriveKind::kPoints;
  track.points = &points;
  const Range range = track.Extremes(S(0.5), S(1.2));
  EXPECT_DOUBLE_EQ(range.low, 5);
  EXPECT_DOUBLE_EQ(range.high, 10);
}

}  // namespace
}  // namespace drycrank::scenario
