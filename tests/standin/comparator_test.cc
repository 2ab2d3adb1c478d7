// SPDX-License-Identifier: Apache-2.0
#include "standin/comparator.h"

#include <gtest/gtest.h>

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

}  // namespace
}  // namespace drycrank::standin
