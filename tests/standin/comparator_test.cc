// SPDX-License-Identifier: Apache-2.0
#include "standin/comparator.h"

#include <gtest/gtest.h>

#include <vector>

namespace drycrank::standin {
namespace {

constexpr TimeNs kMs = kNsPerMs;

Wave Level(TimeNs t_ns, double v) { return {t_ns, kNever, v, v, 0}; }

TEST(Comparator, SwitchedLevelMakesAnEdgeAtItsBegin) {
  Comparator comparator(3, 1.5);
  comparator.OnPiece(Level(0, 5));
  EXPECT_EQ(comparator.next_ns(), kNever);  // the first level is no edge
  comparator.OnPiece(Level(kMs, 0));
  EXPECT_EQ(comparator.next_ns(), kMs);
  EXPECT_FALSE(comparator.Take());
  EXPECT_EQ(comparator.next_ns(), kNever);
}

TEST(Comparator, BetweenTheThresholdsNothingHappens) {
  Comparator comparator(3, 1.5);
  comparator.OnPiece(Level(0, 5));
  comparator.OnPiece(Level(kMs, 1.6));
  comparator.OnPiece(Level(2 * kMs, 2.9));
  EXPECT_EQ(comparator.next_ns(), kNever);
  comparator.OnPiece(Level(3 * kMs, 1.5));  // the twin: at the threshold it does
  EXPECT_EQ(comparator.next_ns(), 3 * kMs);
}

TEST(Comparator, StraightPieceCrossesInProportion) {
  Comparator comparator(3, 1.5);
  comparator.OnPiece({0, kMs, 0, 5, 0});
  EXPECT_EQ(comparator.next_ns(), 600'000);  // 3 V of 5 V, of 1 ms
  EXPECT_TRUE(comparator.Take());
  comparator.OnPiece({2 * kMs, 3 * kMs, 5, 0, 0});
  EXPECT_EQ(comparator.next_ns(), 2 * kMs + 700'000);  // 3.5 V down of 5 V
}

TEST(Comparator, HalfSineCrossesWhereTheSineHasTheLevel) {
  // sin(pi/6) = 1/2: half the peak at x = 1/6, and again at 5/6. 6 ms long: at 1 ms and 5 ms.
  Comparator comparator(1, 0.999999999);
  comparator.OnPiece({0, 6 * kMs, 0, 0, 2});
  EXPECT_EQ(comparator.next_ns(), kMs);
  EXPECT_TRUE(comparator.Take());
  EXPECT_NEAR(static_cast<double>(comparator.next_ns()), 5e6, 2);
  EXPECT_FALSE(comparator.Take());
}

TEST(Comparator, SineOnASlopeCrossesAtItsRoot) {
  // v = 1 - x + sin(pi x): 1.5 at x = 1/2, falling there (dv/dx = -1). Highest where
  // cos(pi x) = 1/pi, x = 0.397: 0.603 + 0.948 = 1.551, so 1.54 is reached before.
  Comparator comparator(1.54, 1.5);
  comparator.OnPiece({0, 2 * kMs, 1, 0, 1});
  EXPECT_TRUE(comparator.Take());
  EXPECT_NEAR(static_cast<double>(comparator.next_ns()), 1e6, 1);
  Comparator higher(1.56, 1.5);  // the twin: never reached
  higher.OnPiece({0, 2 * kMs, 1, 0, 1});
  EXPECT_EQ(higher.next_ns(), kNever);
}

TEST(Comparator, NextPieceReplacesWhatWasToCome) {
  Comparator comparator(1, 0.5);
  comparator.OnPiece({0, 6 * kMs, 0, 0, 2});  // would rise at 1 ms and fall near 5.5 ms
  comparator.OnPiece(Level(3 * kMs, 2));      // but stays up
  EXPECT_EQ(comparator.next_ns(), kMs);
  EXPECT_TRUE(comparator.Take());
  EXPECT_EQ(comparator.next_ns(), kNever);
}

profile::TriggerChannel ZeroCrossing(profile::ActiveEdge edge) {
  profile::TriggerChannel channel;
  channel.conditioning = profile::Conditioning::kZeroCrossing;
  channel.edge = edge;
  channel.arm_v = 0.3;
  return channel;
}

TEST(ZeroCrossing, FiresAtZeroAfterTheArmingLobe) {
  Comparator falling = Comparator::For(ZeroCrossing(profile::ActiveEdge::kFalling));
  falling.OnPiece({0, kMs, 0, 0, 1});
  falling.OnPiece({kMs, 2 * kMs, 0, 0, -1});
  EXPECT_TRUE(falling.Take());  // armed
  EXPECT_EQ(falling.next_ns(), kMs);
  EXPECT_FALSE(falling.Take());
  EXPECT_EQ(falling.next_ns(), kNever);
}

TEST(ZeroCrossing, RisingOneIsArmedByTheNegativeLobe) {
  Comparator rising = Comparator::For(ZeroCrossing(profile::ActiveEdge::kRising));
  rising.OnPiece({0, kMs, 0, 0, 1});
  EXPECT_EQ(rising.next_ns(), kNever);
  rising.OnPiece({kMs, 2 * kMs, 0, 0, -1});
  EXPECT_FALSE(rising.Take());
  EXPECT_EQ(rising.next_ns(), 2 * kMs);
  EXPECT_TRUE(rising.Take());
}

TEST(ZeroCrossing, LobeTooSmallToArmMakesNoEdge) {
  Comparator falling = Comparator::For(ZeroCrossing(profile::ActiveEdge::kFalling));
  falling.OnPiece({0, kMs, 0, 0, 0.29});
  EXPECT_EQ(falling.next_ns(), kNever);
  falling.OnPiece({kMs, 2 * kMs, 0, 0, 0.31});
  EXPECT_NE(falling.next_ns(), kNever);
}

TEST(Comparator, EdgesNobodyTakesAreCounted) {
  Comparator comparator(3, 1.5);
  for (int i = 0; i <= 5000; ++i) comparator.OnPiece(Level(i * kMs, i % 2 == 0 ? 5 : 0));
  EXPECT_EQ(comparator.dropped(), 5000 - 4096);
}

TEST(Comparator, HoldsATenthOfASecondAt20000) {
  Comparator comparator(3, 1.5);
  for (int i = 0; i <= 4000; ++i) comparator.OnPiece(Level(i * 25'000, i % 2 == 0 ? 5 : 0));
  EXPECT_EQ(comparator.dropped(), 0);
  for (int i = 1; i <= 4000; ++i) {
    ASSERT_EQ(comparator.next_ns(), i * 25'000);
    EXPECT_EQ(comparator.Take(), i % 2 == 0);
  }
}

// Half sines of 1 ms, one every 2 ms, with these peaks; the falling edges taken.
std::vector<TimeNs> FallsOf(const profile::TriggerChannel& channel,
                            const std::vector<double>& peaks_v) {
  Comparator comparator = Comparator::For(channel);
  TimeNs t_ns = 0;
  for (const double peak_v : peaks_v) {
    comparator.OnPiece({t_ns, t_ns + kMs, 0, 0, peak_v});
    comparator.OnPiece(Level(t_ns + kMs, 0));
    t_ns += 2 * kMs;
  }
  std::vector<TimeNs> falls_ns;
  while (comparator.next_ns() != kNever) {
    const TimeNs next_ns = comparator.next_ns();
    if (!comparator.Take()) falls_ns.push_back(next_ns / kMs);
  }
  return falls_ns;
}

// 0.4 of 4 V are 1.6 V: 1 V between teeth is none, 1.7 V is one. Lobes count whether they armed or
// not: after three of 1 V, 0.45 V are enough, and 0.35 V are not.
TEST(Comparator, OneThatAdaptsPassesOverWhatIsMuchWeakerThanTheLobesBefore) {
  profile::TriggerChannel channel = ZeroCrossing(profile::ActiveEdge::kFalling);
  channel.arm_share = 0.4;
  EXPECT_EQ(FallsOf(channel, {4, 1, 4, 4, 1.7, 4}), (std::vector<TimeNs>{1, 5, 7, 9, 11}));
  EXPECT_EQ(FallsOf(channel, {4, 1, 1, 1, 0.45, 0.35}), (std::vector<TimeNs>{1, 9}));
  EXPECT_EQ(FallsOf(channel, {4, 0.5, 0.5, 0.5, 0.31}), (std::vector<TimeNs>{1, 9}));
  EXPECT_EQ(FallsOf(channel, {4, 0.5, 0.5, 0.5, 0.29}), (std::vector<TimeNs>{1}));  // arm_v as well
  channel.arm_share = 0;
  EXPECT_EQ(FallsOf(channel, {4, 1, 0.35}), (std::vector<TimeNs>{1, 3, 5}));
}

// The lobes between are the other way, and their zeros are off by what a solved network leaves:
// they take no place among the three that are kept. 0.5 of 4 V are 2 V; when the 4 V are the fourth
// before, 1 V is enough.
TEST(Comparator, OneThatAdaptsKeepsThreeLobesOfItsOwnSide) {
  profile::TriggerChannel channel = ZeroCrossing(profile::ActiveEdge::kFalling);
  channel.arm_share = 0.5;
  Comparator comparator = Comparator::For(channel);
  TimeNs t_ns = 0;
  for (const double peak_v : {4.0, 1.0, 1.0, 1.0, 1.0}) {
    comparator.OnPiece({t_ns, t_ns + kMs, 0, 0, peak_v});
    comparator.OnPiece({t_ns + kMs, t_ns + 2 * kMs, 1e-12, 0, -peak_v});
    t_ns += 2 * kMs;
  }
  std::vector<TimeNs> falls_ns;
  while (comparator.next_ns() != kNever) {
    const TimeNs next_ns = comparator.next_ns();
    if (!comparator.Take()) falls_ns.push_back((next_ns + kMs / 2) / kMs);
  }
  EXPECT_EQ(falls_ns, (std::vector<TimeNs>{1, 9}));
}

// What a piece said after the begin of the next has not been: 8 V never came.
TEST(Comparator, OneThatAdaptsTakesALobeAsFarAsItCame) {
  profile::TriggerChannel channel = ZeroCrossing(profile::ActiveEdge::kRising);
  channel.arm_share = 0.5;
  Comparator comparator = Comparator::For(channel);
  comparator.OnPiece({0, 6 * kMs, 0, 0, -8});  // -4 V after 1 ms
  comparator.OnPiece({kMs, 2 * kMs, -4, 0, 0});
  comparator.OnPiece(Level(2 * kMs, 0));
  comparator.OnPiece({4 * kMs, 5 * kMs, 0, 0, -2.1});
  comparator.OnPiece(Level(5 * kMs, 0));
  comparator.OnPiece({6 * kMs, 7 * kMs, 0, 0, -1});
  comparator.OnPiece(Level(7 * kMs, 0));
  std::vector<TimeNs> rises_ns;
  while (comparator.next_ns() != kNever) {
    const TimeNs next_ns = comparator.next_ns();
    if (comparator.Take()) rises_ns.push_back(next_ns / kMs);
  }
  EXPECT_EQ(rises_ns, (std::vector<TimeNs>{2, 5}));
}

}  // namespace
}  // namespace drycrank::standin
