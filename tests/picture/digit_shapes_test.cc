// SPDX-License-Identifier: Apache-2.0
//
// Digits beside others of their name, drawn by hand: 0 and 5, and a 0 of which light has taken a
// piece.
#include "picture/digit_shapes.h"

#include <gtest/gtest.h>

#include "picture/left_over.h"
#include "tests/picture/painted.h"

namespace drycrank::picture {
namespace {

const std::vector<std::string> kZero = {" XXXX ", "XX  XX", "XX  XX", "XX  XX",
                                        "XX  XX", "XX  XX", " XXXX "};
const std::vector<std::string> kOpened = {" XXXX ", "XX  XX", "XX    ", "XX  XX",
                                          "XX  XX", "XX  XX", " XXXX "};
const std::vector<std::string> kFive = {"XXXXXX", "XX    ", "XXXXX ", "    XX",
                                        "    XX", "XX  XX", " XXXX "};

Shape Drawn(const std::vector<std::string>& rows, int block) {
  const InkField field = FindInk(Painted(rows, block));
  return ShapeOf(StrengthOf(field), field.blobs.front());
}

TEST(DigitShapes, ADigitIsLikeItselfInAnotherSizeAndNotLikeAnother) {
  EXPECT_LT(Difference(Drawn(kZero, 9), Drawn(kZero, 12)).of_a_stroke, 0.35);
  EXPECT_LT(Difference(Drawn(kFive, 9), Drawn(kFive, 12)).of_a_stroke, 0.35);
  EXPECT_GT(Difference(Drawn(kZero, 9), Drawn(kFive, 9)).of_a_stroke, 0.7);
}

TEST(DigitShapes, APieceOfAStrokeThatIsMissingIsADifference) {
  EXPECT_GT(Difference(Drawn(kZero, 9), Drawn(kOpened, 9)).of_a_stroke, 0.6);
}

TEST(DigitShapes, AnotherOfItsNameBearsADigitOutAndNoOtherDoes) {
  const Shape zero = Drawn(kZero, 9), five = Drawn(kFive, 9), opened = Drawn(kOpened, 9);
  EXPECT_EQ(AreBorneOut({{'0', "a", 1, zero}, {'0', "b", 1, zero}}, false),
            (std::vector<bool>{true, true}));
  // What light made of a 0 was read as 5, and looks like no 5.
  EXPECT_EQ(AreBorneOut({{'5', "a", 1, opened}, {'5', "b", 1, five}, {'5', "c", 1, five}}, false),
            (std::vector<bool>{false, true, true}));
}

TEST(DigitShapes, ADigitAloneOfItsNameMustBeUnlikeAllOthers) {
  const Shape zero = Drawn(kZero, 9), five = Drawn(kFive, 9), opened = Drawn(kOpened, 9);
  EXPECT_EQ(AreBorneOut({{'0', "a", 1, zero}, {'5', "b", 1, five}}, false),
            (std::vector<bool>{true, true}));
  EXPECT_EQ(AreBorneOut({{'0', "a", 1, zero}, {'6', "b", 1, opened}}, false),
            (std::vector<bool>{false, false}));
}

// Dirt on the glass lies at the same place in each picture.
TEST(DigitShapes, TheSamePlaceInAnotherPictureBearsNothingOut) {
  const Shape opened = Drawn(kOpened, 9);
  const PlacedDigit zero{'0', "b", 1, Drawn(kZero, 9)};
  EXPECT_EQ(AreBorneOut({{'5', "a", 1, opened}, {'5', "a", 1.1, opened}, zero}, false),
            (std::vector<bool>{false, false, false}));
  EXPECT_EQ(AreBorneOut({{'5', "a", 1, opened}, {'5', "a", 1.8, opened}, zero}, false),
            (std::vector<bool>{true, true, false}));
}

}  // namespace
}  // namespace drycrank::picture
