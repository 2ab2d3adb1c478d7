// SPDX-License-Identifier: Apache-2.0
#include "capture/pattern_search.h"

#include <gtest/gtest.h>

#include <cmath>

#include "capture/crank_track.h"
#include "capture/learn_wheel.h"

namespace drycrank::capture {
namespace {

// So many places of which the last ones are left out, both edges; low at a tooth.
WheelPattern Row(int places, int missing, double share = 0.5) {
  WheelPattern pattern;
  for (int k = 0; k < places - missing; ++k) {
    const double pitch_deg = 360.0 / places;
    pattern.marks.push_back({k * pitch_deg, false, true, k + 1});
    pattern.marks.push_back({(k + share) * pitch_deg, true, false, k + 1});
  }
  return pattern;
}

// Edges of a pattern at 6 degrees a ms, from `first` on.
std::vector<SeenChange> Turning(const WheelPattern& pattern, int first, int count,
                                bool inverted = false) {
  std::vector<SeenChange> edges;
  for (int i = first; i < first + count; ++i) {
    edges.push_back({pattern.DegOf(i) / 6 * 1e6, pattern.At(i).high != inverted, 0});
  }
  return edges;
}

TEST(PatternSearch, FindsWhichEdgeIsWhich) {
  const WheelPattern pattern = Row(60, 2);
  for (const int first : {0, 7, 111}) {
    const Laid laid = LayBest(Turning(pattern, first, 300), pattern);
    EXPECT_EQ(laid.mark, first);
    EXPECT_FALSE(laid.inverted);
    EXPECT_LT(laid.cost, 1e-9);
  }
}

TEST(PatternSearch, TellsAnInvertedLevelByTheGap) {
  const WheelPattern pattern = Row(60, 2);
  const Laid laid = LayBest(Turning(pattern, 11, 300, true), pattern);
  EXPECT_TRUE(laid.inverted);
  EXPECT_GT(laid.other_polarity_cost, 1000 * laid.cost);
}

TEST(PatternSearch, OfEvenTeethTheDrawnWayIsTaken) {
  const WheelPattern pattern = Row(12, 0);
  const Laid laid = LayBest(Turning(pattern, 0, 60, true), pattern);
  EXPECT_FALSE(laid.inverted);
  EXPECT_LT(laid.other_polarity_cost, 1e-6);
}

// 1700 r/min in 1955 samples a second: 69 a turn, 5.2 degrees each, so that every turn is seen the same. Each
// edge is seen with the next sample; a sample's number is a multiple of 360 / 69 degrees.
TEST(PatternSearch, OfFewSamplesTheEvenSpeedIsTaken) {
  WheelPattern pattern;
  int tooth = 0;
  for (const auto& [begin_deg, end_deg] :
       {std::pair{0., 12.}, {60., 75.}, {120., 134.}, {200., 220.}, {295., 310.}}) {
    pattern.marks.push_back({begin_deg, false, true, ++tooth});
    pattern.marks.push_back({end_deg, true, false, tooth});
  }
  std::vector<SeenChange> edges;
  // Steps from edge to edge, as a recorder gave them.
  const int steps[] = {3, 9, 3, 8, 3, 13, 3, 15, 3, 9};
  double sample = 0;
  for (int i = 0; i < 160; ++i) {
    edges.push_back({sample * 1e9 / 1955, i % 2 == 1, 0});
    sample += steps[i % 10];
  }
  EXPECT_EQ(LayBest(edges, pattern).mark, 0);
}

TEST(PatternSearch, AnotherWheelCosts) {
  EXPECT_GT(LayBest(Turning(Row(36, 1), 0, 200), Row(60, 2)).cost, kFits);
}

// The same tooth, in waves that do not stand out of the noise: nothing is missing, and what comes
// before and behind is followed.
TEST(CrankTrack, MissesNothingInNoise) {
  const WheelPattern pattern = Row(36, 1);
  std::vector<SeenChange> edges = Turning(pattern, 0, 1400);
  edges.erase(edges.begin() + 700, edges.begin() + 702);
  EXPECT_EQ(Follow(edges, pattern).missing, 2);
  for (SeenChange& edge : edges) edge.in_noise = true;
  const CrankTrack track = Follow(edges, pattern);
  EXPECT_EQ(track.missing, 0);
  EXPECT_EQ(track.extra, 0);
  EXPECT_EQ(track.stretches.size(), 2u);
  EXPECT_GE(track.placed, 1390);
}

TEST(CrankTrack, FollowsOverAMissingToothAndAnExtraPulse) {
  const WheelPattern pattern = Row(60, 2);
  std::vector<SeenChange> edges = Turning(pattern, 0, 1000);
  edges.erase(edges.begin() + 500, edges.begin() + 502);
  const double t_ns = edges[700].t_ns;
  edges.insert(edges.begin() + 701,
               {{t_ns + 20'000, !edges[700].high, 0}, {t_ns + 40'000, edges[700].high, 0}});
  const CrankTrack track = Follow(edges, pattern);
  ASSERT_EQ(track.stretches.size(), 1u);
  EXPECT_EQ(track.missing, 2);
  EXPECT_EQ(track.extra, 2);
  std::size_t stretch = 0;
  // 6 degrees a ms: at 100.3 ms the crank has turned by 601.8 degrees.
  EXPECT_NEAR(track.DegAt(100.3e6, &stretch).value_or(0), 601.8, 1e-6);
  EXPECT_NEAR(track.most_rpm, 1000, 1e-6);
}

TEST(WheelPattern, LooksTheSameAfterItsOpenDegrees) {
  EXPECT_NEAR(OpenDegOf(Row(60, 2)), 360, 1e-9);
  EXPECT_NEAR(OpenDegOf(Row(12, 0)), 30, 1e-9);
  EXPECT_TRUE(IsEven(Row(12, 0)));
  EXPECT_FALSE(IsEven(Row(36, 1)));
}

TEST(LearnWheel, FindsPlacesAndThoseLeftOut) {
  const auto learnt = LearnWheel(Turning(Row(36, 1, 0.4), 9, 400), true, true);
  ASSERT_TRUE(learnt);
  EXPECT_EQ(learnt->places, 36);
  EXPECT_EQ(learnt->missing, std::vector<int>{36});
  EXPECT_NEAR(learnt->tooth_fraction, 0.4, 1e-9);
}

TEST(LearnWheel, NothingIsLearntWhereNothingRepeats) {
  std::vector<SeenChange> edges;
  double t_ns = 0;
  for (int i = 0; i < 200; ++i) edges.push_back({t_ns += 1e6 * (1 + (i * i) % 17), i % 2 == 0, 0});
  EXPECT_FALSE(LearnWheel(std::span(edges).first(24), true, true));
}

}  // namespace
}  // namespace drycrank::capture
