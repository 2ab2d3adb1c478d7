// SPDX-License-Identifier: Apache-2.0
//
// -8.1 by hand on the pink ground of a warning: as it is, under light that slopes, and with a small
// white spot.
#include "picture/spots.h"

#include <gtest/gtest.h>

#include "tests/picture/painted.h"

namespace drycrank::picture {
namespace {

constexpr int kBlock = 12, kFew = 10;

Raster OnPink() {
  Raster raster = Painted(kMinusEightPointOne, kBlock);
  for (auto& pixel : raster.pixels) {
    if (pixel[0] > 100) pixel = {252, 214, 208};
  }
  return raster;
}
std::string Why(const Raster& raster) { return WhySpots(raster, FindInk(raster), kFew); }

TEST(Spots, TwoColoursAndTheirEdgesAreNone) { EXPECT_EQ(Why(OnPink()), ""); }

TEST(Spots, LightThatSlopesIsNone) {
  Raster raster = OnPink();
  for (int y = 0; y < raster.height; ++y) {
    for (int x = 0; x < raster.width; ++x) {
      const float light = 0.6F + 0.4F * static_cast<float>(x) / static_cast<float>(raster.width);
      for (float& c : raster.pixels[static_cast<std::size_t>(y * raster.width + x)]) c *= light;
    }
  }
  EXPECT_EQ(Why(raster), "");
}

// White is brighter than pink by 17 % of what pink is than ink, and of another colour.
TEST(Spots, AWhiteSpotOnAStrokeIsOne) {
  Raster raster = OnPink();
  Fill(raster, 10 + 4 * kBlock, 10 + kBlock, kBlock, kBlock, 255, 255, 255);
  EXPECT_EQ(Why(raster), "a spot on it, neither ink nor ground");
}

TEST(Spots, ASpotOfAnotherColourBesideTheInkIsOne) {
  Raster raster = OnPink();
  Fill(raster, 10 + 2 * kBlock, 10, 8, 8, 40, 200, 60);
  EXPECT_EQ(Why(raster), "a spot on it, neither ink nor ground");
}

}  // namespace
}  // namespace drycrank::picture
