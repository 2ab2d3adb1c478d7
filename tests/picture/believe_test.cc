// SPDX-License-Identifier: Apache-2.0
//
// What is said of a field against the ink that stands there, drawn by hand: -8.1 and 70.
#include "picture/believe.h"

#include <gtest/gtest.h>

#include "tests/picture/painted.h"

namespace drycrank::picture {
namespace {

FieldReading Said(const std::vector<std::string>& rows, const std::vector<Spelled>& spelled) {
  return Believe(FindInk(Painted(rows, 9)), spelled, {{"in step", "off"}, "---"});
}

TEST(Believe, TwoReadingsThatTheInkBearsOut) {
  const FieldReading read = Said(kMinusEightPointOne, {{"-8.1", 0.9}, {"-8.1", 0.8}});
  EXPECT_EQ(read.text, "-8.1");
  EXPECT_EQ(read.doubt, "");
}

TEST(Believe, OneAloneIsNotEnough) {
  EXPECT_NE(Said(kSeventy, {{"70", 0.99}}).doubt, "");
  EXPECT_NE(Said(kSeventy, {{"70", 0.99}, {"", 0}}).doubt, "");
}

// Each has the highest confidence, twice, and is wrong: a lost point, a lost sign, a digit with
// another number of holes, one of another shape, one too many.
TEST(Believe, AConfidentErrorIsSeenInTheInk) {
  for (const char* wrong : {"-81", "8.1", "-6.1", "-8.7", "-8.11", "-0.1", "--8.1"}) {
    EXPECT_NE(Said(kMinusEightPointOne, {{wrong, 1}, {wrong, 1}}).doubt, "") << wrong;
  }
  for (const char* wrong : {"10", "78", "7", "7.0", "-70", "17", "71"}) {
    EXPECT_NE(Said(kSeventy, {{wrong, 1}, {wrong, 1}}).doubt, "") << wrong;
  }
}

TEST(Believe, AReadingThatTheInkDoesNotBearOutCountsForNothing) {
  EXPECT_EQ(Said(kSeventy, {{"10", 0.99}, {"70", 0.9}, {"70", 0.9}}).text, "70");
  EXPECT_EQ(Said(kSeventy, {{"10", 0.99}, {"70", 0.9}, {"70", 0.9}}).doubt, "");
}

TEST(Believe, TwoThatAreBothBorneOutAndDifferAreADoubt) {
  EXPECT_NE(Said(kSeventy, {{"70", 0.9}, {"76", 0.9}, {"70", 0.9}}).doubt, "");
}

TEST(Believe, WithoutConfidenceItIsADoubt) {
  EXPECT_NE(Said(kSeventy, {{"70", 0.9}, {"70", 0.4}}).doubt, "");
}

TEST(Believe, AWordThatMayNotStandThereIsADoubt) {
  EXPECT_NE(Said(kSeventy, {{"to", 1}, {"to", 1}}).doubt, "");
}

// "770", and with the room of a point between its sevens.
TEST(Believe, WhereAPointMightHaveStoodItIsADoubt) {
  const std::vector<std::string> near = {"XXX XXX XXX", "  X   X X X", "  X   X X X", "  X   X X X",
                                         "  X   X XXX"};
  std::vector<std::string> wide = near;
  for (std::string& row : wide) row.insert(3, "  ");
  EXPECT_EQ(Said(near, {{"770", 0.9}, {"770", 0.9}}).doubt, "");
  EXPECT_EQ(Said(wide, {{"770", 0.9}, {"770", 0.9}}).doubt,
            "770 was read, and a point might have stood in it");
}

TEST(Believe, ABumpAtTheFootIsADoubt) {
  std::vector<std::string> bumped = kSeventy;
  for (std::string& row : bumped) row += " ";
  bumped[4].back() = 'X';
  EXPECT_EQ(Said(bumped, {{"70", 0.9}, {"70", 0.9}}).doubt,
            "70 was read, and its 0 has a bump like a point");
}

// Of 45 pixels of height a fifth is 9: another digit might stand beyond the edge.
TEST(Believe, AMarkThatMayCutADigitOffIsADoubt) {
  Raster raster = Painted(kSeventy, 9), cut = Plain(raster.width - 4, raster.height, 0, 0, 0);
  for (int y = 0; y < cut.height; ++y) {
    for (int x = 0; x < cut.width; ++x) {
      cut.pixels[static_cast<std::size_t>(y * cut.width + x)] = raster.At(x + 4, y);
    }
  }
  const std::vector<Spelled> spelled = {{"70", 0.9}, {"70", 0.9}};
  EXPECT_EQ(Believe(FindInk(raster), spelled, {}).doubt, "");
  EXPECT_EQ(Believe(FindInk(cut), spelled, {}).doubt, "70 was read, near the edge of its mark");
}

// Where a point has no room of its own, its loss leaves none.
TEST(Believe, AZeroAheadIsADoubt) {
  const std::vector<std::string> rows = {"XXX XXX", "X X   X", "X X   X", "X X   X", "XXX   X"};
  EXPECT_EQ(Said(rows, {{"07", 0.9}, {"07", 0.9}}).doubt,
            "07 was read, and a point might be lost behind its first 0");
}

TEST(Believe, DashesNeedNoReading) {
  const TextWish wish{{}, "---"};
  const InkField three = FindInk(Painted({"               ", "               ", "XXX  XXX  XXX  ",
                                          "               ", "               "},
                                         9));
  EXPECT_EQ(DashesIn(three, wish).text, "---");
  EXPECT_EQ(DashesIn(three, wish).doubt, "");
  const InkField two =
      FindInk(Painted({"          ", "          ", "XXX  XXX  ", "          ", "          "}, 9));
  EXPECT_NE(DashesIn(two, wish).doubt, "");
  EXPECT_EQ(DashesIn(FindInk(Painted(kSeventy, 9)), wish).text, "");
}

}  // namespace
}  // namespace drycrank::picture
