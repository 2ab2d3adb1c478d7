// SPDX-License-Identifier: Apache-2.0
//
// A picture in memory, and a part of it seen straight: four corners give the plane of a page
// (a projective map, "homography": 8 numbers from 4 points, each giving two linear equations
//   u = (a x + b y + c) / (g x + h y + 1),  v = (d x + e y + f) / (g x + h y + 1)),
// and a field of the page is taken from the picture by that map, upright and in any size.
#ifndef DRYCRANK_PICTURE_RASTER_H_
#define DRYCRANK_PICTURE_RASTER_H_

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "picture/marks.h"
#include "types/nth.h"

namespace drycrank::picture {

// In a list that holds rows of that width, one after another.
inline std::size_t PlaceIn(int width, int x, int y) { return AsSize(y) * AsSize(width) + AsSize(x); }

struct Raster {
  int width = 0, height = 0;
  std::vector<std::array<float, 3>> pixels;  // red, green, blue, [0, 255], row by row

  const std::array<float, 3>& At(int x, int y) const {
    return pixels[PlaceIn(width, x, y)];
  }
};

// Grey, [0, 255].
struct Grey {
  int width = 0, height = 0;
  std::vector<float> pixels;

  float At(int x, int y) const {
    return pixels[PlaceIn(width, x, y)];
  }
  float& At(int x, int y) {
    return pixels[PlaceIn(width, x, y)];
  }
};
// By the weights of ITU-R BT.601.
Grey GreyOf(const Raster& raster);

class View {
 public:
  // Of a page of that size whose corners lie there in the picture.
  View(const Raster& raster, const Corners& corners, double width, double height);

  // The box of the page, `pixels_per_unit` fine. What lies outside of the picture repeats its edge.
  Raster Of(const Box& box, double pixels_per_unit) const;
  // How many pixels of the picture one unit of the page takes around the box' middle, at least.
  double Fineness(const Box& box) const;
  bool Shows(const Box& box) const;  // all of it is in the picture

 private:
  PagePoint InPicture(double x, double y) const;
  std::array<float, 3> Sample(double u, double v) const;

  const Raster& raster_;
  std::array<double, 8> map_{};
};

}  // namespace drycrank::picture

#endif  // DRYCRANK_PICTURE_RASTER_H_
