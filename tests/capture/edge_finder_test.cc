// SPDX-License-Identifier: Apache-2.0
#include "capture/edge_finder.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>
#include <random>

namespace drycrank::capture {
namespace {

constexpr double kPi = std::numbers::pi;

std::vector<SeenChange> Edges(const EdgeRule& rule, const std::vector<double>& values,
                              double step_ns = 1000) {
  EdgeFinder finder(rule);
  double t_ns = 0;
  for (const double v : values) {
    finder.Add(t_ns, v);
    t_ns += step_ns;
  }
  return finder.changes();
}

TEST(EdgeFinder, ALevelsEdgeLiesBetweenSamples) {
  // From 1 V at 1000 ns to 5 V at 2000 ns; 2.5 V is 3/8 of the way.
  const auto edges = Edges(LevelRule{2, 3}, {0, 1, 5, 5, 0, 0});
  ASSERT_EQ(edges.size(), 2u);
  EXPECT_TRUE(edges[0].high);
  EXPECT_NEAR(edges[0].t_ns, 1375, 1e-9);
  EXPECT_FALSE(edges[1].high);
  EXPECT_NEAR(edges[1].t_ns, 3500, 1e-9);
}

TEST(EdgeFinder, WhatStaysBetweenThresholdsIsNoEdge) {
  EXPECT_TRUE(Edges(LevelRule{2, 3}, {0, 2.9, 0, 2.9, 0}).empty());
}

TEST(EdgeFinder, AnUnknownValueBreaksTheLevel) {
  const double unknown = std::numeric_limits<double>::quiet_NaN();
  EXPECT_TRUE(Edges(ExactRule{}, {0, unknown, 1}).empty());
  EXPECT_EQ(Edges(ExactRule{}, {0, 1, unknown, 0, 1}).size(), 2u);
}

// What is not known hides edges: the first one after it says so, and a leap over it is none.
TEST(EdgeFinder, AnEdgeAfterAHoleSaysSo) {
  const double hole = std::numeric_limits<double>::quiet_NaN();
  const auto edges = Edges(LevelRule{2, 3}, {0, 5, 5, hole, 0, 0, 5, 0});
  ASSERT_EQ(edges.size(), 3u);
  EXPECT_FALSE(edges[0].after_hole);
  EXPECT_TRUE(edges[1].after_hole);  // the fall within the hole was not seen
  EXPECT_TRUE(edges[1].high);
  EXPECT_FALSE(edges[2].after_hole);
  EXPECT_TRUE(Edges(StepRule{2, 1}, {0, 0, 0, 0, hole, 1, 1, 1, 1}).empty());
}

// Armed at 0.3 V of 1 V waves, noise of 0.4 V in a gap would make edges; said to reach 0.42 V, it
// makes none.
TEST(EdgeFinder, NoiseThatIsKnownArmsNothing) {
  std::vector<double> values;
  for (int k = 0; k < 200; ++k) values.push_back(std::sin(2 * kPi * k / 20));
  for (int k = 0; k < 60; ++k) values.push_back(k % 2 == 0 ? 0.4 : -0.4);
  for (int k = 0; k < 200; ++k) values.push_back(std::sin(2 * kPi * k / 20));
  EXPECT_GT(Edges(WaveRule{0, 0.02, 0.3}, values).size(), 80u);
  EXPECT_NEAR(static_cast<double>(Edges(WaveRule{0, 0.02, 0.3, 0.42}, values).size()), 39, 1);
}

// Noise of 0.3 V lies below 0.45 of waves of 1 V, and above 0.45 of those of 0.5 V.
TEST(EdgeFinder, WavesThatNoiseReachesSaySo) {
  for (const double height : {1.0, 0.5}) {
    std::vector<double> values;
    for (int k = 0; k < 400; ++k) values.push_back(height * std::sin(2 * kPi * k / 20));
    const auto edges = Edges(WaveRule{0, 0.02, 0.3, 0.3}, values);
    ASSERT_GE(edges.size(), 30u);
    EXPECT_EQ(edges.back().in_noise, height < 0.6) << height;
  }
}

TEST(EdgeFinder, AWaveCrossesRestBetweenSamples) {
  // sin(2 pi t / 20 us) from t = 0.3 us, each us: it falls through 0 at 10 us - 0.3 us = 9.7 us of
  // the samples.
  std::vector<double> values;
  for (int k = 0; k < 41; ++k) values.push_back(1.5 + std::sin(2 * kPi * (k + 0.3) / 20));
  const auto edges = Edges(WaveRule{1.5, 0.02, 0.3}, values);
  ASSERT_GE(edges.size(), 3u);
  EXPECT_FALSE(edges[0].high);
  EXPECT_NEAR(edges[0].t_ns, 9700, 30);
  EXPECT_NEAR(edges[1].t_ns, 19700, 30);
}

// As beside a gap: a half sine of 1 V and 80 us falls into one of 0.5 V and 200 us, at 7.3 us and
// each 280 us later. A line through both would be drawn some 5 us to the flat side.
TEST(EdgeFinder, AWaveOfUnlikeHalvesCrossesRestWhereTheyMeet) {
  std::vector<double> values;
  for (int k = 0; k < 3000; ++k) {
    const double us = std::fmod(k + 280 - 7.3 + 80, 280);
    values.push_back(us < 80 ? std::sin(kPi * us / 80) : -0.5 * std::sin(kPi * (us - 80) / 200));
  }
  int falls = 0;
  for (const SeenChange& edge : Edges(WaveRule{0, 0.02, 0.3}, values)) {
    if (edge.high || edge.t_ns < 1e6) continue;
    EXPECT_NEAR(std::remainder(edge.t_ns - 7300, 280e3), 0, 500);
    ++falls;
  }
  EXPECT_GE(falls, 5);
}

// A negative half sine ends at 60 us, a positive one begins at 160 us. Between them is rest,
// read as a little below it or a little above: the wave changes sides halfway, at 110 us.
TEST(EdgeFinder, AWaveThatRestsInAGapCrossesHalfway) {
  for (const double off : {-1e-3, 0.0, 1e-3}) {
    std::vector<double> values;
    for (int us = 0; us < 220; ++us) {
      const double x = us < 60 ? us : us < 160 ? 0 : us - 100;
      values.push_back(off + (us < 60 || us >= 160 ? std::sin(kPi * x / 30) : 0));
    }
    const auto edges = Edges(WaveRule{0, 0.02, 0.3}, values);
    ASSERT_EQ(edges.size(), 3u);
    EXPECT_NEAR(edges[1].t_ns, 110e3, 1500);
  }
}

// Noise of 0.05 V strews samples that are near rest all along the crossing of a wave of 1 V and
// 4000 us; it falls through 0 at 2000 us and each 4000 us later. A line through some 400 samples,
// on which it falls 1.57 mV in each us, tells that to 0.05 / 0.00157 / sqrt(400) = 1.6 us.
TEST(EdgeFinder, ANoisyCrossingIsNotTakenForAGap) {
  std::mt19937 draws(1);
  std::normal_distribution<double> noise(0, 0.05);
  std::vector<double> values;
  for (int us = 0; us < 81'000; ++us)
    values.push_back(std::sin(2 * kPi * us / 4000) + noise(draws));
  double squares = 0, falls = 0;
  for (const SeenChange& edge : Edges(WaveRule{0, 0.02, 0.3, 0.25}, values)) {
    if (edge.high) continue;
    squares += std::pow(std::remainder(edge.t_ns / 1e3 - 2000, 4000), 2);
    ++falls;
  }
  EXPECT_EQ(falls, 20);
  EXPECT_LT(std::sqrt(squares / falls), 4);
}

TEST(EdgeFinder, AWaveThatShrinksTenfoldIsStillSeen) {
  std::vector<double> values;
  for (int k = 0; k < 4000; ++k)
    values.push_back(std::sin(2 * kPi * k / 20) * std::pow(10, -k / 4000.0));
  EXPECT_NEAR(static_cast<double>(Edges(WaveRule{0, 0.02, 0.3}, values).size()), 399, 1);
}

TEST(EdgeFinder, NoiseInAGapIsNoWave) {
  std::vector<double> values;
  for (int k = 0; k < 200; ++k) values.push_back(std::sin(2 * kPi * k / 20));
  for (int k = 0; k < 60; ++k) values.push_back(k % 2 == 0 ? 0.1 : -0.1);
  for (int k = 0; k < 200; ++k) values.push_back(std::sin(2 * kPi * k / 20));
  EXPECT_NEAR(static_cast<double>(Edges(WaveRule{0, 0.02, 0.3}, values).size()), 39, 1);
}

TEST(EdgeFinder, BehindACapacitorAStepIsAnEdgeAndTheSinkingIsNone) {
  // Steps of 1 V that sink to nothing with a time constant of 50 samples.
  std::vector<double> values;
  double v = 0;
  for (int k = 0; k < 1200; ++k) {
    if (k % 300 == 150) v += k % 600 == 150 ? 1 : -1;
    values.push_back(v);
    v *= 0.98;
  }
  const auto edges = Edges(StepRule{2, 1}, values);
  ASSERT_EQ(edges.size(), 4u);
  EXPECT_NEAR(edges[0].t_ns, 149'500, 501);
  EXPECT_TRUE(edges[0].high);
  EXPECT_NEAR(edges[1].t_ns, 449'500, 501);
  EXPECT_FALSE(edges[1].high);
}

// From 0 at 0 us to -0.93 V at 1 us, and a hair lower at 2 us, at which the leap over two samples
// is first seen: it passed -0.5 V at 0.54 us. Drawn through the last two samples it would be at -42
// us.
TEST(EdgeFinder, AStepsEdgeLiesBetweenTheSamplesOfTheStep) {
  const auto edges =
      Edges(StepRule{2, 1}, {0, -0.93, -0.94, -0.95, -0.94, 0.01, 0.0, -0.01, -0.02, 0});
  ASSERT_EQ(edges.size(), 2u);
  EXPECT_NEAR(edges[0].t_ns, 500 / 0.93, 1);
  EXPECT_GT(edges[1].t_ns, 4000);
  EXPECT_LE(edges[1].t_ns, 5000);
}

}  // namespace
}  // namespace drycrank::capture
