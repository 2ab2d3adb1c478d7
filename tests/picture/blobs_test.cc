// SPDX-License-Identifier: Apache-2.0
#include "picture/blobs.h"

#include <gtest/gtest.h>

#include "tests/picture/painted.h"

namespace drycrank::picture {
namespace {

TEST(Blobs, PiecesSignsAndHolesAreThoseThatAreDrawn) {
  const InkField field = FindInk(Painted(kMinusEightPointOne, 8));
  EXPECT_EQ(field.doubt, "");
  ASSERT_EQ(field.blobs.size(), 4U);
  EXPECT_EQ(field.signs,
            (std::vector<Sign>{Sign::kDash, Sign::kCharacter, Sign::kPoint, Sign::kCharacter}));
  EXPECT_EQ(field.blobs[1].holes, 2);
  EXPECT_EQ(field.blobs[3].holes, 0);
}

TEST(Blobs, BrightOnDarkIsTheSame) {
  Raster raster = Painted(kMinusEightPointOne, 8);
  for (auto& pixel : raster.pixels) pixel = {255 - pixel[0], 255 - pixel[1], 255 - pixel[2]};
  const InkField field = FindInk(raster);
  EXPECT_EQ(field.doubt, "");
  ASSERT_EQ(field.blobs.size(), 4U);
  EXPECT_EQ(field.blobs[1].holes, 2);
}

// A slope of light from left to right that is stronger than half of the ink's contrast.
TEST(Blobs, LightThatVariesIsDividedOut) {
  Raster raster = Painted(kSeventy, 9);
  for (int y = 0; y < raster.height; ++y) {
    for (int x = 0; x < raster.width; ++x) {
      const float light = 0.45F + 0.55F * static_cast<float>(x) / static_cast<float>(raster.width);
      for (float& c : raster.pixels[static_cast<std::size_t>(y * raster.width + x)]) c *= light;
    }
  }
  const InkField field = FindInk(raster);
  EXPECT_EQ(field.doubt, "");
  ASSERT_EQ(field.blobs.size(), 2U);
  EXPECT_EQ(field.blobs[0].holes, 0);
  EXPECT_EQ(field.blobs[1].holes, 1);
}

TEST(Blobs, AnEmptyFieldIsInDoubt) {
  EXPECT_NE(FindInk(Plain(120, 64, 200, 200, 200)).doubt, "");
  EXPECT_NE(FindInk(Plain(120, 64, 3, 3, 3)).doubt, "");
}

TEST(Blobs, InkThatIsCutOffIsInDoubt) {
  Raster raster = Painted(kSeventy, 9);
  Fill(raster, 0, 20, 12, 9, 20, 20, 24);
  EXPECT_EQ(FindInk(raster).doubt, "ink at the edge of the marked field");
}

}  // namespace
}  // namespace drycrank::picture
