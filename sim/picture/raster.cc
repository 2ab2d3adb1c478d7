// SPDX-License-Identifier: Apache-2.0
#include "picture/raster.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "types/nth.h"

namespace drycrank::picture {

Grey GreyOf(const Raster& raster) {
  Grey grey{raster.width, raster.height, {}};
  grey.pixels.reserve(raster.pixels.size());
  for (const auto& [red, green, blue] : raster.pixels) {
    grey.pixels.push_back(0.299F * red + 0.587F * green + 0.114F * blue);
  }
  return grey;
}

View::View(const Raster& raster, const Corners& corners, double width, double height)
    : raster_(raster) {
  const std::array<PagePoint, 4> page = {{{0, 0}, {width, 0}, {width, height}, {0, height}}};
  Eigen::Matrix<double, 8, 8> equations;
  Eigen::Matrix<double, 8, 1> right;
  for (int i = 0; i < 4; ++i) {
    const auto at = static_cast<std::size_t>(i);
    const double x = page[at].x, y = page[at].y, u = corners[at].x, v = corners[at].y;
    equations.row(2 * i) << x, y, 1, 0, 0, 0, -x * u, -y * u;
    equations.row(2 * i + 1) << 0, 0, 0, x, y, 1, -x * v, -y * v;
    right(2 * i) = u;
    right(2 * i + 1) = v;
  }
  const Eigen::Matrix<double, 8, 1> solved = equations.fullPivLu().solve(right);
  std::copy(solved.data(), solved.data() + 8, map_.begin());
}

PagePoint View::InPicture(double x, double y) const {
  const double w = map_[6] * x + map_[7] * y + 1;
  return {(map_[0] * x + map_[1] * y + map_[2]) / w, (map_[3] * x + map_[4] * y + map_[5]) / w};
}

// Between four pixels, whose middles are at halves.
std::array<float, 3> View::Sample(double u, double v) const {
  const double x = std::clamp(u - 0.5, 0.0, raster_.width - 1.0);
  const double y = std::clamp(v - 0.5, 0.0, raster_.height - 1.0);
  const int left = std::min(static_cast<int>(x), std::max(0, raster_.width - 2));
  const int top = std::min(static_cast<int>(y), std::max(0, raster_.height - 2));
  const int right = std::min(left + 1, raster_.width - 1),
            low = std::min(top + 1, raster_.height - 1);
  const auto dx = static_cast<float>(x - left), dy = static_cast<float>(y - top);
  std::array<float, 3> colour{};
  for (std::size_t c = 0; c < 3; ++c) {
    const float above = raster_.At(left, top)[c] * (1 - dx) + raster_.At(right, top)[c] * dx;
    const float below = raster_.At(left, low)[c] * (1 - dx) + raster_.At(right, low)[c] * dx;
    colour[c] = above * (1 - dy) + below * dy;
  }
  return colour;
}

Raster View::Of(const Box& box, double pixels_per_unit) const {
  constexpr int kFine = 2;  // samples each way in a pixel
  Raster out;
  out.width = std::max(1, static_cast<int>(std::lround(box.width * pixels_per_unit)));
  out.height = std::max(1, static_cast<int>(std::lround(box.height * pixels_per_unit)));
  for (int y = 0; y < out.height; ++y) {
    for (int x = 0; x < out.width; ++x) {
      std::array<float, 3> sum{};
      for (int part = 0; part < kFine * kFine; ++part) {
        const double px = x + (part % kFine + 0.5) / kFine, py = y + (part / kFine + 0.5) / kFine;
        const PagePoint at =
            InPicture(box.left + px / pixels_per_unit, box.top + py / pixels_per_unit);
        const auto colour = Sample(at.x, at.y);
        for (std::size_t c = 0; c < 3; ++c) sum[c] += colour[c] / (kFine * kFine);
      }
      out.pixels.push_back(sum);
    }
  }
  return out;
}

double View::Fineness(const Box& box) const {
  const double x = box.left + box.width / 2, y = box.top + box.height / 2;
  const PagePoint at = InPicture(x, y), right = InPicture(x + 1, y), below = InPicture(x, y + 1);
  return std::min(std::hypot(right.x - at.x, right.y - at.y),
                  std::hypot(below.x - at.x, below.y - at.y));
}

bool View::Shows(const Box& box) const {
  for (const double x : {box.left, box.left + box.width}) {
    for (const double y : {box.top, box.top + box.height}) {
      const PagePoint at = InPicture(x, y);
      if (at.x < 0 || at.y < 0 || at.x > raster_.width || at.y > raster_.height) return false;
    }
  }
  return true;
}

}  // namespace drycrank::picture
