// SPDX-License-Identifier: Apache-2.0
#include "trigger/wheel.h"

#include <algorithm>
#include <cmath>

#include "types/angle.h"

namespace drycrank::trigger {

std::vector<WheelEdge> WheelEdges(const TurningWheel& wheel) {
  const double period_deg = wheel.turn_deg;
  const double crank_per_wheel = period_deg / 360;
  std::vector<WheelEdge> edges;
  edges.reserve(wheel.teeth.size() * 2);
  int number = 0;
  for (const Tooth& tooth : wheel.teeth) {
    ++number;
    for (const bool begin : {true, false}) {
      const double wheel_deg = begin ? tooth.begin_deg : tooth.end_deg;
      edges.push_back(
          {.crank_deg = WrapDeg(wheel.offset_deg + crank_per_wheel * wheel_deg, period_deg),
           .metal = begin,
           .tooth = number});
    }
  }
  std::sort(edges.begin(), edges.end(),
            [](const WheelEdge& a, const WheelEdge& b) { return a.crank_deg < b.crank_deg; });
  const std::size_t n = edges.size();
  for (std::size_t i = 0; i < n; ++i) {
    const double here_deg = edges[i].crank_deg;
    const double before_deg = WrapDeg(here_deg - edges[(i + n - 1) % n].crank_deg, period_deg);
    const double after_deg = WrapDeg(edges[(i + 1) % n].crank_deg - here_deg, period_deg);
    edges[i].lobe_deg = std::min(before_deg, after_deg);
  }
  return edges;
}

double FullLobeDeg(std::span<const WheelEdge> edges) {
  constexpr double kSameDeg = 1e-6;  // widths come out of sums and differences
  double full_deg = 0;
  std::ptrdiff_t most = 0;
  for (const WheelEdge& edge : edges) {
    const auto met = std::count_if(edges.begin(), edges.end(), [&](const WheelEdge& other) {
      return std::abs(other.lobe_deg - edge.lobe_deg) < kSameDeg;
    });
    if (met > most || (met == most && edge.lobe_deg > full_deg)) {
      most = met;
      full_deg = edge.lobe_deg;
    }
  }
  return full_deg;
}

}  // namespace drycrank::trigger
