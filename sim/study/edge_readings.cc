// SPDX-License-Identifier: Apache-2.0
#include "study/edge_readings.h"

#include <algorithm>
#include <cmath>

#include "check/edge_places.h"
#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

constexpr double kOnePlaceDeg = 0.5;
constexpr double kLeastShare = 0.5;

// Angles of one level in a cycle, each close to the one before, ascending from the widest gap on.
std::vector<std::vector<double>> PlacesOf(std::vector<double> degs, double cycle_deg) {
  std::vector<std::vector<double>> places;
  if (degs.empty()) return places;
  std::ranges::sort(degs);
  std::size_t first = 0;
  double widest_deg = degs.front() + cycle_deg - degs.back();
  for (std::size_t i = 1; i < degs.size(); ++i) {
    if (degs[i] - degs[i - 1] <= widest_deg) continue;
    widest_deg = degs[i] - degs[i - 1];
    first = i;
  }
  for (std::size_t i = 0; i < first; ++i) degs[i] += cycle_deg;
  std::rotate(degs.begin(), degs.begin() + static_cast<std::ptrdiff_t>(first), degs.end());
  for (const double deg : degs) {
    if (places.empty() || deg - places.back().back() > kOnePlaceDeg) places.emplace_back();
    places.back().push_back(deg);
  }
  return places;
}

double MeanOf(const std::vector<double>& degs) {
  double sum = 0;
  for (const double deg : degs) sum += deg;
  return sum / static_cast<double>(degs.size());
}

}  // namespace

EdgeReadings::EdgeReadings(const profile::Bench& bench, TimeNs kept_ns) : kept_ns_(kept_ns) {
  if (!bench.controller) return;
  for (const profile::TriggerChannel& channel : bench.controller->triggers) {
    const int trigger = check::TriggerAt(bench, channel);
    cycle_deg_.push_back(trigger < 0
                             ? bench.engine.cycle_deg()
                             : check::WheelCycleDeg(Nth(bench.triggers, trigger), bench.engine));
  }
}

void EdgeReadings::OnEdge(const Edge& edge) {
  edges_.push_back(edge);
  while (edges_.front().t_ns < edge.t_ns - 2 * kept_ns_) edges_.pop_front();
}

diagnose::EdgesAt EdgeReadings::Between(TimeNs begin_ns, TimeNs end_ns) const {
  const auto begin = crank_.AngleAt(begin_ns), end = crank_.AngleAt(end_ns);
  diagnose::EdgesAt seen;
  if (!begin || !end) return seen;
  for (std::size_t channel = 0; channel < cycle_deg_.size(); ++channel) {
    seen.push_back(AtInput(static_cast<int>(channel), *end, end->Minus(*begin)));
  }
  return seen;
}

// Between the last two edges, so that none lies where the cycles are cut.
double EdgeReadings::CutBeforeDeg(int channel, const CrankAngle& end) const {
  double last_deg = -1;
  for (auto edge = edges_.rbegin(); edge != edges_.rend(); ++edge) {
    const auto at = crank_.AngleAt(edge->t_ns);
    if (edge->channel != channel || !at || end.Minus(*at) < 0) continue;
    if (last_deg >= 0) return (last_deg + end.Minus(*at)) / 2;
    last_deg = end.Minus(*at);
  }
  return 0;
}

diagnose::InputSeen EdgeReadings::AtInput(int channel, const CrankAngle& rest_end,
                                          double turned_deg) const {
  const double cycle_deg = Nth(cycle_deg_, channel);
  const double cut_deg = CutBeforeDeg(channel, rest_end);
  const CrankAngle end = rest_end.Plus(-cut_deg);
  diagnose::InputSeen seen;
  seen.cycles = std::floor((turned_deg - cut_deg) / cycle_deg);
  if (seen.cycles < 1) return seen;
  for (const bool high : {false, true}) {
    std::vector<double> degs;
    for (const Edge& edge : edges_) {
      if (edge.channel != channel || edge.high != high) continue;
      const auto at = crank_.AngleAt(edge.t_ns);
      if (!at) continue;
      const double before_deg = end.Minus(*at);
      if (before_deg < 0 || before_deg >= seen.cycles * cycle_deg) continue;
      degs.push_back(WrapDeg(end.InCycle(cycle_deg) - before_deg, cycle_deg));
    }
    for (const std::vector<double>& place : PlacesOf(std::move(degs), cycle_deg)) {
      const double share = static_cast<double>(place.size()) / seen.cycles;
      if (share <= kLeastShare) {
        seen.strays[high ? 1 : 0] += share;
        continue;
      }
      seen.strays[high ? 1 : 0] += std::max(0.0, share - 1);
      seen.places.push_back({WrapDeg(MeanOf(place), cycle_deg), high, std::min(share, 1.0),
                             place.back() - place.front()});
    }
  }
  std::ranges::sort(seen.places, {}, &diagnose::EdgePlace::deg);
  return seen;
}

}  // namespace drycrank::study
