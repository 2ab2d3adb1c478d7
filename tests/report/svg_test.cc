// SPDX-License-Identifier: Apache-2.0
#include "report/svg.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace drycrank::report {
namespace {

using testing::DoubleEq;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;

TEST(Ticks, AreRoundNumbersInsideTheRange) {
  EXPECT_THAT(NiceTicks(77.5, 102.5, 5).at, ElementsAre(80, 85, 90, 95, 100));
  EXPECT_EQ(NiceTicks(77.5, 102.5, 5).decimals, 0);
  EXPECT_THAT(NiceTicks(-1, 1, 5).at, ElementsAre(-1, -0.5, 0, 0.5, 1));
  EXPECT_EQ(NiceTicks(0, 0.1, 5).decimals, 2);  // 0.02 apart would be six: 0.05 apart, three
  EXPECT_EQ(NiceTicks(0, 7000, 5).step, 2000);
}

TEST(Ticks, AreNoneForARangeThatIsNone) {
  EXPECT_TRUE(NiceTicks(3, 3, 5).at.empty());
  EXPECT_TRUE(NiceTicks(0, std::numeric_limits<double>::infinity(), 5).at.empty());
}

TEST(TimeAxis, ShortStretchesCountFromAWholeNumberOfTheirUnit) {
  const TimeAxis axis = TimeAxisFor(FromMs(500.25), FromMs(560));
  EXPECT_EQ(axis.caption, "ms after 0.500 s");
  EXPECT_DOUBLE_EQ(axis.Of(FromMs(510)), 10);
  EXPECT_EQ(TimeAxisFor(0, FromSeconds(20)).caption, "s");
  EXPECT_EQ(TimeAxisFor(FromMs(1), FromMs(1.2)).caption, "µs after 0.001000 s");
}

// 200 px for 10 units across, 100 px for 5 units up, the origin at (50, 150).
TEST(Frame, DataGoRightAndUp) {
  const Frame f{50, 50, 250, 150, 0, 10, 0, 5};
  EXPECT_DOUBLE_EQ(f.X(2.5), 100);
  EXPECT_DOUBLE_EQ(f.Y(0), 150);
  EXPECT_DOUBLE_EQ(f.Y(4), 70);
}

TEST(Thin, DropsWhatLiesOnTheStraightLine) {
  const auto kept = Thin({{0, 0}, {10, 10}, {20, 20}, {30, 0}});
  ASSERT_EQ(kept.size(), 3u);
  EXPECT_DOUBLE_EQ(kept[1].x, 20);
}

TEST(Thin, KeepsASpikeNarrowerThanAPixel) {
  std::vector<Point> points;
  for (int i = 0; i < 10000; ++i) points.push_back({i * 0.01, i == 5003 ? 90.0 : 10.0});
  const auto kept = Thin(points);
  EXPECT_LT(kept.size(), 10u);
  EXPECT_THAT(kept, testing::Contains(testing::Field(&Point::y, DoubleEq(90))));
}

TEST(SvgLine, BreaksWhereThereIsNoNumber) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  EXPECT_EQ(SvgLine({{0, 1}, {5, 2}, {6, nan}, {7, 3}, {9, 1}}, "said").text(),
            "<path class=\"said\" d=\"M0,1 5,2M7,3 9,1\"/>");
  EXPECT_EQ(SvgLine({{0, nan}}, "said").text(), "");
}

TEST(Stepped, LevelHoldsUntilTheNextPoint) {
  const auto corners = Stepped({{0, 1}, {10, 5}});
  ASSERT_EQ(corners.size(), 3u);
  EXPECT_DOUBLE_EQ(corners[1].x, 10);
  EXPECT_DOUBLE_EQ(corners[1].y, 1);
}

TEST(SvgText, IsEscaped) {
  EXPECT_THAT(SvgText({1, 2}, Anchor::kEnd, "<b>").text(), HasSubstr(">&lt;b&gt;<"));
  EXPECT_THAT(Svg({10, 10, {}}, "plot", "a\"b").text(), Not(HasSubstr("a\"b")));
}

}  // namespace
}  // namespace drycrank::report
