// SPDX-License-Identifier: Apache-2.0
#include "types/points.h"

#include <algorithm>
#include <cassert>
#include <cmath>

namespace drycrank {

double Interpolate(const Points& points, double x) {
  if (points.empty()) return 0;
  const auto next = std::upper_bound(points.begin(), points.end(), x,
                                     [](double at, const auto& point) { return at < point.first; });
  if (next == points.begin()) return points.front().second;
  if (next == points.end()) return points.back().second;
  const auto& [x0, y0] = *(next - 1);
  const auto& [x1, y1] = *next;
  return y0 + (y1 - y0) * (x - x0) / (x1 - x0);
}

double InterpolateInverse(const Points& points, double y) {
  assert(!points.empty());
  if (points.front().second == y) return points.front().first;
  for (std::size_t i = 1; i < points.size(); ++i) {
    const auto& [x0, y0] = points[i - 1];
    const auto& [x1, y1] = points[i];
    if ((y0 < y) != (y1 < y) || y1 == y) return std::lerp(x0, x1, (y - y0) / (y1 - y0));
  }
  const bool first_is_nearer =
      std::abs(points.front().second - y) < std::abs(points.back().second - y);
  return (first_is_nearer ? points.front() : points.back()).first;
}

}  // namespace drycrank
