// SPDX-License-Identifier: Apache-2.0
//
// How numbers stand, by hand from the outlines of fonts (their tables hmtx and glyf, in thousandths
// of the em): left edge and right edge of a digit's ink within its advance.
//
//   DejaVu Sans             636 each; 1: 124-544  2: 73-536  5: 108-549  7: 82-551  8: 68-568; point 318; 729 high
//   our own lettering       8.4 each; 1: 0.3-4.3  4: -0.7-7  7: -0.7-6.7  8: -0.7-6.7; point 3.2; 11.4 high
#include "picture/spacing.h"

#include <gtest/gtest.h>

#include <map>

namespace drycrank::picture {
namespace {

struct Font {
  double digit, point, height;
  std::map<char, std::pair<double, double>> inks;
};
const Font kDejaVu{636,
                   318,
                   729,
                   {{'1', {124, 544}},
                    {'2', {73, 536}},
                    {'5', {108, 549}},
                    {'7', {82, 551}},
                    {'8', {68, 568}},
                    {'.', {107, 210}}}};
const Font kOurs{8.4,
                 3.2,
                 11.4,
                 {{'1', {0.3, 4.3}},
                  {'4', {-0.7, 7}},
                  {'7', {-0.7, 6.7}},
                  {'8', {-0.7, 6.7}},
                  {'.', {-0.3, 1.1}}}};

// '_': the room of a point that nobody sees.
StandingNumber Set(const Font& font, const std::string& text) {
  StandingNumber out;
  double x = 0;
  for (const char c : text) {
    if (c != '_') {
      const auto& [left, right] = font.inks.at(c);
      out.push_back({c, x + left, x + right, c == '.' ? right - left : font.height});
    }
    x += c == '.' || c == '_' ? font.point : font.digit;
  }
  return out;
}

std::string Why(const Font& font, const std::string& text, bool must_have_point = false) {
  return WhySpacing(Set(font, text), DigitWidth({Set(font, "8"), Set(font, text)}),
                    must_have_point);
}

TEST(Spacing, NumbersStandAsTheirFontsSetThem) {
  for (const char* text : {"875", "8.75", "87.5", "11", "1.1", "17.2", "2118", "8", "211.5"}) {
    EXPECT_EQ(Why(kDejaVu, text), "") << text;
  }
  for (const char* text : {"41", "4.1", "118", "11", "1.1", "8.7", "174.8"}) {
    EXPECT_EQ(Why(kOurs, text), "") << text;
    EXPECT_EQ(Why(kOurs, text, true), "") << text;
  }
}

TEST(Spacing, APointThatIsGoneLeavesItsRoom) {
  for (const char* text : {"8_75", "87_5", "1_1", "7_1", "1_7", "2_1", "5_5", "12_8"}) {
    EXPECT_NE(Why(kDejaVu, text), "") << text;
  }
  for (const char* text : {"4_1", "8_1", "7_1", "1_1", "1_8", "8_7", "48_7", "11_8"}) {
    EXPECT_NE(Why(kOurs, text), "") << text;
  }
}

TEST(Spacing, APointWithoutRoomIsASpeck) {
  StandingNumber number = Set(kDejaVu, "875");
  number.insert(number.begin() + 1, {'.', 580, 690, 110});
  EXPECT_EQ(WhySpacing(number, 500.0 / 729, false), "its point has no room");
}

// 1.4 digits apart: wide, and no more; where a point is due that is enough to ask.
TEST(Spacing, WhereAPointIsDueItsRoomIsLookedForMoreStrictly) {
  const StandingNumber number = {{'8', 0, 50, 73}, {'7', 70, 120, 73}};
  EXPECT_EQ(WhySpacing(number, 50.0 / 73, false), "");
  EXPECT_EQ(WhySpacing(number, 50.0 / 73, true), "its digits stand apart: a point might be lost");
}

TEST(Spacing, OnesAloneDoNotTellHowFarTheyStandApart) {
  EXPECT_EQ(DigitWidth({Set(kDejaVu, "1.1")}), 0);
  EXPECT_NE(WhySpacing(Set(kDejaVu, "11"), 0, false), "");
}

}  // namespace
}  // namespace drycrank::picture
