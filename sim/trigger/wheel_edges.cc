// SPDX-License-Identifier: Apache-2.0
#include "trigger/wheel_edges.h"

#include <algorithm>
#include <cmath>

#include "types/angle.h"
#include "types/coil_lobe.h"

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
    const double tooth_deg = edges[i].metal ? after_deg : before_deg;
    const LobeReach reach = LobeReachOf(before_deg, after_deg, tooth_deg);
    edges[i].lobe_deg = reach.air_deg + reach.tooth_deg;
    edges[i].lead_deg = edges[i].metal ? reach.air_deg : reach.tooth_deg;
  }
  return edges;
}

double FullLobeDeg(std::span<const WheelEdge> edges) {
  constexpr double kSameDeg = 1e-6;  // widths come out of sums and differences
  std::vector<double> lobes_deg;
  for (const WheelEdge& edge : edges) lobes_deg.push_back(edge.lobe_deg);
  std::sort(lobes_deg.begin(), lobes_deg.end());
  // Those from `first` up to `end` are as wide as this one; of two widths as frequent, the larger.
  double full_deg = 0;
  std::size_t most = 0, first = 0, end = 0;
  for (const double deg : lobes_deg) {
    while (deg - lobes_deg[first] >= kSameDeg) ++first;
    while (end < lobes_deg.size() && lobes_deg[end] - deg < kSameDeg) ++end;
    if (end - first < most) continue;
    most = end - first;
    full_deg = deg;
  }
  return full_deg;
}

}  // namespace drycrank::trigger
