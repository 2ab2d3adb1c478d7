// SPDX-License-Identifier: Apache-2.0
//
// Numbers of one display beside each other, as blocks: each digit 5 wide and 9 high, 6.5 from
// middle to middle; a point adds 3.
#include "picture/beside.h"

#include <gtest/gtest.h>

namespace drycrank::picture {
namespace {

// All digits of a name have one shape, a bar in a row of their own.
Shape BarOf(char name) {
  Shape shape(static_cast<std::size_t>(kShapeRows * kShapeColumns), 0.0F);
  const int row = 2 * (name - '0') + 1;
  for (int x = 3; x < 27; ++x) {
    for (int y = row; y < row + 3; ++y) shape[static_cast<std::size_t>(y * kShapeColumns + x)] = 1;
  }
  return shape;
}

// '_': the room of a point that is not seen.
SeenNumber Number(const char* readout, const std::string& text, bool must_have_point = false) {
  SeenNumber out{readout, must_have_point, "", {}};
  double x = 10;
  for (const char c : text) {
    if (c != '_') out.text += c;
    const auto left = static_cast<int>(10 * x);
    if (c == '.') {
      out.signs.push_back({c, {left - 8, 80, left + 2, 90}, {}});
    } else if (c != '_') {
      out.signs.push_back({c, {left, 0, left + 49, 89}, BarOf(c)});
    }
    x += c == '.' || c == '_' ? 3 : 6.5;
  }
  return out;
}

TEST(Beside, NumbersThatBearEachOtherOutAreBelieved) {
  EXPECT_EQ(WhyNotBeside({Number("a", "8.75"), Number("b", "578")}, 2),
            (std::vector<std::string>{"", ""}));
}

TEST(Beside, ALostPointIsSaidOfItsNumberAlone) {
  EXPECT_EQ(WhyNotBeside({Number("a", "8_75"), Number("b", "578")}, 2),
            (std::vector<std::string>{
                "875 was read, and its digits stand apart: a point might be lost", ""}));
}

TEST(Beside, ADigitThatNoOtherBearsOutIsNamed) {
  SeenNumber other = Number("b", "58");
  other.signs[0].shape = BarOf('7');
  EXPECT_EQ(WhyNotBeside({Number("a", "58"), other}, 2),
            (std::vector<std::string>{"58 was read, and the other digits do not bear out its 5",
                                      "58 was read, and the other digits do not bear out its 5"}));
}

TEST(Beside, InManyFieldsADigitAloneOfItsNameIsADoubt) {
  const std::vector<SeenNumber> numbers = {Number("a", "83"), Number("b", "88")};
  EXPECT_EQ(WhyNotBeside(numbers, kManyFields - 1), (std::vector<std::string>{"", ""}));
  EXPECT_EQ(
      WhyNotBeside(numbers, kManyFields),
      (std::vector<std::string>{"83 was read, and the other digits do not bear out its 3", ""}));
}

}  // namespace
}  // namespace drycrank::picture
