// SPDX-License-Identifier: Apache-2.0
#include "check/evidence.h"

#include <gtest/gtest.h>

#include <algorithm>

namespace drycrank::check {
namespace {

TracePoint At(TimeNs t_ns, double reported) { return {t_ns, reported, 0, 1}; }

bool Has(const std::vector<TracePoint>& points, TimeNs t_ns) {
  return std::ranges::count(points, t_ns, &TracePoint::t_ns) == 1;
}

TEST(Trace, FewPointsAreAllKept) {
  Trace trace;
  for (int i = 0; i < 150; ++i) trace.Add(At(i * kNsPerMs, i), 150 - i);
  const auto points = trace.Points();
  ASSERT_EQ(points.size(), 150u);
  for (int i = 0; i < 150; ++i) {
    EXPECT_EQ(points[static_cast<std::size_t>(i)].t_ns, i * kNsPerMs);
  }
}

TEST(Trace, FirstOfEquallyBadPointsIsTheWorst) {
  Trace trace;
  trace.Add(At(1, 0), 2);
  trace.Add(At(2, 0), -1);
  trace.Add(At(3, 0), -1);
  EXPECT_EQ(trace.worst().t_ns, 2);
  EXPECT_DOUBLE_EQ(trace.worst_margin(), -1);
}

class LongTrace : public ::testing::Test {
 protected:
  static constexpr int kCount = 1'000'000;  // 10,000 s at 100 a second
  static constexpr TimeNs kStep = 10 * kNsPerMs;
  void Fill(int worst, int spike) {
    for (int i = 0; i < kCount; ++i) {
      trace_.Add(At(i * kStep, i == spike ? 99 : i % 3), i == worst ? -5 : 1);
    }
  }
  Trace trace_;
};

TEST_F(LongTrace, StaysWithinItsBound) {
  Fill(400'000, 700'000);
  const auto points = trace_.Points();
  EXPECT_LE(points.size(), kMaxTracePoints);
  EXPECT_GE(points.size(), 300u);
  EXPECT_TRUE(std::ranges::is_sorted(points, {}, &TracePoint::t_ns));
  EXPECT_EQ(trace_.count(), static_cast<std::uint64_t>(kCount));
}

TEST_F(LongTrace, IsDenseAroundTheWorst) {
  Fill(400'000, 700'000);
  const auto points = trace_.Points();
  for (int i = 400'000 - 90; i <= 400'000 + 90; ++i) EXPECT_TRUE(Has(points, i * kStep)) << i;
}

TEST_F(LongTrace, KeepsASpikeFarFromTheWorst) {
  Fill(400'000, 700'000);
  EXPECT_TRUE(Has(trace_.Points(), 700'000 * kStep));
}

TEST_F(LongTrace, IsDenseBeforeAWorstAtTheVeryEnd) {
  Fill(kCount - 1, 5);
  const auto points = trace_.Points();
  for (int i = kCount - 100; i < kCount; ++i) EXPECT_TRUE(Has(points, i * kStep)) << i;
  EXPECT_TRUE(Has(points, 5 * kStep));
}

TEST_F(LongTrace, CoversTheWholeTime) {
  Fill(400'000, 700'000);
  const auto points = trace_.Points();
  EXPECT_LT(points.front().t_ns, kCount * kStep / 100);
  EXPECT_GT(points.back().t_ns, kCount * kStep / 100 * 98);
}

TEST(Trace, LatecomerIsPutAtTheBegin) {
  Trace trace;
  trace.Add(At(kNsPerS, 1), 1);
  trace.Add(At(kNsPerS - 5, 2), 1);  // two interfaces of a live bench, a little out of order
  EXPECT_EQ(trace.Points().size(), 2u);
}

}  // namespace
}  // namespace drycrank::check
