// SPDX-License-Identifier: Apache-2.0
//
// What is left beside -8.1, drawn by hand: nothing; then a faint point, glare, a veil, blur of a
// known size.
#include "picture/left_over.h"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/picture/painted.h"

namespace drycrank::picture {
namespace {

constexpr int kBlock = 12;  // pixels of an X; the text is 5 of them high

Raster Text() { return Painted(kMinusEightPointOne, kBlock); }
std::string Left(const Raster& raster) { return WhatIsLeft(raster, FindInk(raster)); }

// By a row of equal weights: `length` pixels, whose deviation is sqrt((length^2 - 1) / 12).
Raster Smeared(const Raster& in, int length) {
  Raster out = in;
  for (int y = 0; y < in.height; ++y) {
    for (int x = 0; x < in.width; ++x) {
      std::array<float, 3> sum{};
      for (int d = 0; d < length; ++d) {
        const auto& pixel = in.At(std::clamp(x + d - length / 2, 0, in.width - 1), y);
        for (std::size_t c = 0; c < 3; ++c) sum[c] += pixel[c] / static_cast<float>(length);
      }
      out.pixels[static_cast<std::size_t>(y * in.width + x)] = sum;
    }
  }
  return out;
}

TEST(LeftOver, NothingIsLeftBesideWhatIsDrawn) { EXPECT_EQ(Left(Text()), ""); }

TEST(LeftOver, APointOfAThirdOfTheInkIsLeft) {
  Raster raster = Text();
  // Ground 230, ink 20: a third is 160. Between sign and 8, at the foot.
  Fill(raster, 10 + 2 * kBlock, 10 + 4 * kBlock, 8, 8, 160, 160, 156);
  EXPECT_EQ(Left(raster), "faint ink beside it");
}

// Ground 230, ink 20: 220 is a twentieth. A camera that takes noise away leaves as little of a
// point.
TEST(LeftOver, APointOfATwentiethOfTheInkIsLeft) {
  Raster raster = Text();
  Fill(raster, 10 + 2 * kBlock, 10 + 4 * kBlock, 9, 9, 219, 219, 214);
  EXPECT_EQ(Left(raster), "faint ink beside it");
}

TEST(LeftOver, GlareOnTheGroundIsSaid) {
  Raster raster = Plain(260, 80, 160, 160, 156);
  Fill(raster, 30, 20, 10, 40, 20, 20, 24);
  EXPECT_EQ(Left(raster), "");
  Fill(raster, 120, 20, 24, 24, 215, 215, 211);
  EXPECT_EQ(Left(raster), "glare beside it");
  Fill(raster, 120, 20, 24, 24, 255, 255, 255);
  EXPECT_EQ(Left(raster), "the picture is burnt out there");
}

TEST(LeftOver, ACharacterUnderAVeilIsSaid) {
  Raster raster = Text();
  // The 1's ink from 20 to 80 of 230: 29 % are missing.
  for (int y = 0; y < raster.height; ++y) {
    for (int x = 10 + 10 * kBlock; x < raster.width; ++x) {
      auto& pixel = raster.pixels[static_cast<std::size_t>(y * raster.width + x)];
      if (pixel[0] < 100) pixel = {80, 80, 84};
    }
  }
  EXPECT_EQ(Left(raster), "a part of it is fainter");
}

// Of a row of n equal weights the slope of an edge is 1 / n: as a Gaussian of n / sqrt(2 pi).
TEST(LeftOver, TheBlurOfAnEdgeIsMeasured) {
  const EdgeBlur blur = BlurOf(FindInk(Smeared(Text(), 9)));
  EXPECT_NEAR(blur.x_px, 9 / 2.5066, 0.5);
  EXPECT_LT(blur.y_px, 1.6);  // FindInk's own: three pixels
}

// 60 pixels of text: the least point is 7.2, and keeps less than 0.6 from a blur of 2.7 on.
TEST(LeftOver, WhereAPointWouldMeltItIsTooBlurred) {
  EXPECT_EQ(Left(Smeared(Text(), 5)), "");
  EXPECT_EQ(Left(Smeared(Text(), 8)), "too blurred: a point might be lost");
}

}  // namespace
}  // namespace drycrank::picture
