// SPDX-License-Identifier: Apache-2.0
//
// Small pictures made by hand: characters as rows of X, each a block of pixels.
#ifndef DRYCRANK_TESTS_PICTURE_PAINTED_H_
#define DRYCRANK_TESTS_PICTURE_PAINTED_H_

#include <string>
#include <vector>

#include "picture/raster.h"

namespace drycrank::picture {

inline Raster Plain(int width, int height, float red, float green, float blue) {
  Raster raster{width, height, {}};
  raster.pixels.assign(static_cast<std::size_t>(width * height), {red, green, blue});
  return raster;
}

inline void Fill(Raster& raster, int left, int top, int width, int height, float red, float green,
                 float blue) {
  for (int y = top; y < top + height; ++y) {
    for (int x = left; x < left + width; ++x) {
      raster.pixels[static_cast<std::size_t>(y * raster.width + x)] = {red, green, blue};
    }
  }
}

// Each X of `rows` is a block of `block` pixels each way, dark on bright, 10 pixels from the edges.
inline Raster Painted(const std::vector<std::string>& rows, int block) {
  constexpr int kEdge = 10;
  const auto width = static_cast<int>(rows.front().size()) * block + 2 * kEdge;
  Raster raster = Plain(width, static_cast<int>(rows.size()) * block + 2 * kEdge, 230, 230, 225);
  for (std::size_t y = 0; y < rows.size(); ++y) {
    for (std::size_t x = 0; x < rows[y].size(); ++x) {
      if (rows[y][x] != 'X') continue;
      Fill(raster, kEdge + static_cast<int>(x) * block, kEdge + static_cast<int>(y) * block, block,
           block, 20, 20, 24);
    }
  }
  return raster;
}

// "-8.1" and "70", drawn by hand: signs, points and holes can be counted in the rows.
inline const std::vector<std::string> kMinusEightPointOne = {"    XXX    X ",  //
                                                             "    X X   XX ",  //
                                                             "XXX XXX    X ",  //
                                                             "    X X    X ",  //
                                                             "    XXX X  X "};
inline const std::vector<std::string> kSeventy = {"XXX XXX",  //
                                                  "  X X X",  //
                                                  "  X X X",  //
                                                  "  X X X",  //
                                                  "  X XXX"};

}  // namespace drycrank::picture

#endif  // DRYCRANK_TESTS_PICTURE_PAINTED_H_
