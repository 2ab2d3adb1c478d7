// SPDX-License-Identifier: Apache-2.0
#include "plant/segments.h"

#include <gtest/gtest.h>

#include <cmath>

namespace drycrank::plant {
namespace {

using profile::DriveKind;

profile::Engine Four() {
  profile::Engine engine;
  engine.firing_order = {1, 3, 4, 2};
  engine.compression_ripple = 0.2;
  return engine;
}

TEST(Segments, CrankingHasOneCompressionPerFiringInterval) {
  scenario::Track track{.kind = DriveKind::kCrank, .to = 220};
  const MotionPart four = PartOf(track, 0, Four());
  EXPECT_EQ(four.segment.kind, SegmentKind::kCrank);
  EXPECT_DOUBLE_EQ(four.segment.per_turn, 2);  // four cylinders, two turns a cycle
  profile::Engine kart;
  kart.strokes = 2;
  kart.firing_order = {1};
  EXPECT_DOUBLE_EQ(PartOf(track, 0, kart).segment.per_turn, 1);
}

TEST(Segments, ARampTakenUpHalfWayEndsWhereItWouldHave) {
  scenario::Track track{.kind = DriveKind::kRamp, .from = 1000, .to = 3000, .over_s = 2};
  const MotionPart part = PartOf(track, kNsPerS, Four());
  EXPECT_DOUBLE_EQ(part.segment.speed_rpm, 2000);
  EXPECT_DOUBLE_EQ(part.segment.to_rpm, 3000);
  EXPECT_DOUBLE_EQ(part.segment.duration_s, 1);
}

TEST(Segments, ABrokenLineGoesFromCornerToCorner) {
  const Points points{{0, 0}, {1, 1000}, {3, 500}};
  scenario::Track track{.kind = DriveKind::kPoints, .points = &points};
  const MotionPart first = PartOf(track, 0, Four());
  EXPECT_EQ(first.until_ns, kNsPerS);
  EXPECT_DOUBLE_EQ(first.segment.to_rpm, 1000);
  const MotionPart second = PartOf(track, kNsPerS, Four());
  EXPECT_EQ(second.until_ns, 3 * kNsPerS);
  EXPECT_DOUBLE_EQ(second.segment.duration_s, 2);
  const MotionPart last = PartOf(track, 3 * kNsPerS, Four());
  EXPECT_EQ(last.until_ns, kNever);
  EXPECT_DOUBLE_EQ(last.segment.speed_rpm, 500);
}

TEST(Segments, ACamsAdvanceFollowsItsTrack) {
  scenario::Track ramp{.kind = DriveKind::kRamp, .from = 0, .to = 20, .over_s = 2};
  const trigger::Advance moving = AdvanceOf(ramp, kNsPerS, 10 * kNsPerMs);
  EXPECT_DOUBLE_EQ(moving.begin_deg, 10);
  EXPECT_DOUBLE_EQ(moving.slope_deg_per_s, 10);
  EXPECT_EQ(moving.end_ns, 2 * kNsPerS);
  const trigger::Advance held = AdvanceOf(ramp, 3 * kNsPerS, 10 * kNsPerMs);
  EXPECT_DOUBLE_EQ(held.begin_deg, 20);
  EXPECT_DOUBLE_EQ(held.slope_deg_per_s, 0);
}

TEST(Segments, NoSpeedIsMinusZero) {
  for (const scenario::Track& track :
       {scenario::Track{.kind = DriveKind::kHold, .to = -0.0},
        scenario::Track{.kind = DriveKind::kRamp, .from = -0.0, .to = -0.0, .over_s = 2}}) {
    const Segment segment = PartOf(track, 0, Four()).segment;
    EXPECT_FALSE(std::signbit(segment.speed_rpm));
    EXPECT_FALSE(std::signbit(segment.to_rpm));
  }
}

}  // namespace
}  // namespace drycrank::plant
