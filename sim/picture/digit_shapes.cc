// SPDX-License-Identifier: Apache-2.0
#include "picture/digit_shapes.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace drycrank::picture {
namespace {

constexpr double kAlike = 0.45, kOther = 0.27;
constexpr double kOtherPlace = 0.4;  // of the height
constexpr int kShift = 1;            // cells that two may lie beside each other

float CellOf(const Shape& shape, int x, int y) {
  if (x < 0 || y < 0 || x >= kShapeColumns || y >= kShapeRows) return 0;
  return shape[PlaceIn(kShapeColumns, x, y)];
}

// Strength at a place of the picture, between four pixels.
double Between(const Grey& grey, double x, double y) {
  const int left = std::clamp(static_cast<int>(std::floor(x)), 0, std::max(0, grey.width - 2)),
            top = std::clamp(static_cast<int>(std::floor(y)), 0, std::max(0, grey.height - 2));
  const double dx = std::clamp(x - left, 0.0, 1.0), dy = std::clamp(y - top, 0.0, 1.0);
  const double above = grey.At(left, top) * (1 - dx) + grey.At(left + 1, top) * dx;
  const double below = grey.At(left, top + 1) * (1 - dx) + grey.At(left + 1, top + 1) * dx;
  return above * (1 - dy) + below * dy;
}

// b moved against a.
Differs DifferenceAt(const Shape& a, const Shape& b, int dx, int dy) {
  Shape rows(a.size(), 0), left(a.size(), 0);
  Differs out;
  for (int y = 0; y < kShapeRows; ++y) {
    for (int x = 0; x < kShapeColumns; ++x) {
      const float by = CellOf(a, x, y) - CellOf(b, x + dx, y + dy);
      left[PlaceIn(kShapeColumns, x, y)] = by;
      out.of_all += std::abs(by);
    }
  }
  for (int y = 0; y < kShapeRows; ++y) {
    for (int x = 0; x < kShapeColumns; ++x) {
      rows[PlaceIn(kShapeColumns, x, y)] =
          CellOf(left, x - 1, y) + CellOf(left, x, y) + CellOf(left, x + 1, y);
    }
  }
  for (int y = 0; y < kShapeRows; ++y) {
    for (int x = 0; x < kShapeColumns; ++x) {
      const float nine = CellOf(rows, x, y - 1) + CellOf(rows, x, y) + CellOf(rows, x, y + 1);
      out.of_a_stroke = std::max(out.of_a_stroke, std::abs(static_cast<double>(nine)) / 9);
    }
  }
  return out;
}

bool IsElsewhere(const PlacedDigit& a, const PlacedDigit& b) {
  return a.field != b.field || std::abs(a.middle - b.middle) > kOtherPlace;
}

bool IsBorneOut(const PlacedDigit& one, const std::vector<PlacedDigit>& digits,
                bool must_have_other) {
  bool is_alone = !must_have_other;
  for (const PlacedDigit& other : digits) {
    if (other.name != one.name || !IsElsewhere(one, other)) continue;
    is_alone = false;
    if (Difference(one.shape, other.shape).of_a_stroke < kAlike) return true;
  }
  return is_alone && std::ranges::all_of(digits, [&](const PlacedDigit& other) {
           return other.name == one.name || Difference(one.shape, other.shape).of_all > kOther;
         });
}

}  // namespace

Shape ShapeOf(const Grey& strength, const Blob& blob) {
  const double cell = static_cast<double>(blob.height()) / kShapeRows;
  const double middle = (blob.left + blob.right) / 2.0;
  Shape shape;
  for (int y = 0; y < kShapeRows; ++y) {
    for (int x = 0; x < kShapeColumns; ++x) {
      const double u = middle + (x + 0.5 - kShapeColumns / 2.0) * cell,
                   v = blob.top - 0.5 + (y + 0.5) * cell;
      const bool is_its_own = u > blob.left - cell && u < blob.right + cell;
      const double quarter = cell / 4;
      double sum = 0;
      for (const double du : {-quarter, quarter}) {
        for (const double dv : {-quarter, quarter}) sum += Between(strength, u + du, v + dv);
      }
      shape.push_back(is_its_own ? static_cast<float>(std::clamp(sum / 4, 0.0, 1.0)) : 0.0F);
    }
  }
  return shape;
}

Differs Difference(const Shape& a, const Shape& b) {
  Differs least{1e9, 1e9};
  for (int dy = -kShift; dy <= kShift; ++dy) {
    for (int dx = -kShift; dx <= kShift; ++dx) {
      const Differs here = DifferenceAt(a, b, dx, dy);
      least = {std::min(least.of_a_stroke, here.of_a_stroke), std::min(least.of_all, here.of_all)};
    }
  }
  least.of_all /= std::max(
      {1.0F, std::accumulate(a.begin(), a.end(), 0.0F), std::accumulate(b.begin(), b.end(), 0.0F)});
  return least;
}

std::vector<bool> AreBorneOut(const std::vector<PlacedDigit>& digits, bool must_have_other) {
  std::vector<bool> out;
  for (const PlacedDigit& one : digits) {
    out.push_back(IsBorneOut(one, digits, must_have_other));
  }
  return out;
}

}  // namespace drycrank::picture
