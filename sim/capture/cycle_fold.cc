// SPDX-License-Identifier: Apache-2.0
#include "capture/cycle_fold.h"

#include <algorithm>
#include <cmath>

#include "types/angle.h"

namespace drycrank::capture {
namespace {

constexpr double kApartDeg = 4;      // between two places of one direction; or two samples
constexpr double kLeastShare = 0.5;  // of the periods, to be a place

FoldedPlace PlaceOf(std::span<const double> deg, bool high, double period_deg) {
  FoldedPlace place;
  place.high = high;
  place.count = static_cast<int>(deg.size());
  double sum = 0, squares = 0;
  for (const double d : deg) sum += d;
  const double mean = sum / static_cast<double>(deg.size());
  for (const double d : deg) squares += (d - mean) * (d - mean);
  place.spread_deg = std::sqrt(squares / static_cast<double>(deg.size()));
  place.least_deg = deg.front() - mean;
  place.most_deg = deg.back() - mean;
  place.deg = WrapDeg(mean, period_deg);
  return place;
}

// Angles of one direction, cut where two neighbours on the circle are far from each other.
void Cut(std::vector<double> deg, bool high, double period_deg, double apart_deg, Folded& out) {
  std::ranges::sort(deg);
  std::size_t first = 0;
  double widest = -1;
  for (std::size_t i = 0; i < deg.size(); ++i) {
    const double next = i + 1 < deg.size() ? deg[i + 1] : deg[0] + period_deg;
    if (next - deg[i] > widest) first = i + 1;
    widest = std::max(widest, next - deg[i]);
  }
  for (std::size_t i = 0; i < first && i < deg.size(); ++i) deg[i] += period_deg;
  std::rotate(
      deg.begin(),
      deg.begin() + static_cast<std::ptrdiff_t>(first % std::max<std::size_t>(deg.size(), 1)),
      deg.end());
  for (std::size_t begin = 0; begin < deg.size();) {
    std::size_t end = begin + 1;
    while (end < deg.size() && deg[end] - deg[end - 1] < apart_deg) ++end;
    const FoldedPlace place = PlaceOf(std::span(deg).subspan(begin, end - begin), high, period_deg);
    if (place.count >= std::max(1.0, kLeastShare * std::floor(out.periods))) {
      out.places.push_back(place);
    } else {
      out.odd += place.count;
    }
    begin = end;
  }
}

}  // namespace

Folded Fold(std::span<const SeenChange> edges, const CrankTrack& track, std::size_t stretch,
            double zero_deg, double period_deg, double step_deg) {
  Folded folded;
  folded.periods = track.stretches[stretch].turns() * 360 / period_deg;
  std::vector<double> deg[2];
  for (const SeenChange& edge : edges) {
    std::size_t at = 0;
    const auto angle = track.DegAt(edge.t_ns, &at);
    if (angle && at == stretch) deg[edge.high].push_back(WrapDeg(*angle - zero_deg, period_deg));
  }
  for (const bool high : {false, true})
    Cut(deg[high], high, period_deg, std::max(kApartDeg, 2 * step_deg), folded);
  std::ranges::sort(folded.places, {}, &FoldedPlace::deg);
  return folded;
}

std::size_t LongestOf(const CrankTrack& track) {
  std::size_t longest = 0;
  for (std::size_t i = 0; i < track.stretches.size(); ++i) {
    if (track.stretches[i].turns() > track.stretches[longest].turns()) longest = i;
  }
  return longest;
}

}  // namespace drycrank::capture
