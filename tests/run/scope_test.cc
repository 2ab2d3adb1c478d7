// SPDX-License-Identifier: Apache-2.0
#include "run/scope.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace drycrank::run {
namespace {

using testing::Pair;

// 5 V until 3 ms, then 0 V; the window ends before that, though the run has gone on.
TEST(ScopeLine, ALevelIsHeldToTheEndOfTheWindow) {
  const std::deque<WavePiece> pieces = {
      {0, kNever, 0, 0, 0}, {1 * kNsPerMs, kNever, 5, 5, 0}, {3 * kNsPerMs, kNever, 0, 0, 0}};
  const auto points = LinePoints(pieces, {0, 2 * kNsPerMs});
  ASSERT_FALSE(points.empty());
  EXPECT_THAT(points.front(), Pair(0, 0.0));
  EXPECT_THAT(points.back(), Pair(2 * kNsPerMs, 5.0));
}

// The twin: with the edge inside, it is there.
TEST(ScopeLine, AnEdgeInsideTheWindowIsDrawn) {
  const std::deque<WavePiece> pieces = {{0, kNever, 5, 5, 0}, {3 * kNsPerMs, kNever, 0, 0, 0}};
  const auto points = LinePoints(pieces, {0, 4 * kNsPerMs});
  EXPECT_THAT(points.back(), Pair(4 * kNsPerMs, 0.0));
}

}  // namespace
}  // namespace drycrank::run
