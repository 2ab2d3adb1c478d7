// SPDX-License-Identifier: Apache-2.0
#include "schedule/blade_fuse.h"

#include <algorithm>
#include <iterator>

namespace drycrank::schedule {
namespace {

struct Gate {
  double load, least_s;
  std::optional<double> most_s;
};
const Gate kGates[] = {{1.10, 360000, {}}, {1.35, 0.75, 600}, {1.60, 0.25, 50},
                       {2.0, 0.15, 5},     {3.5, 0.04, 0.5},  {6.0, 0.02, 0.1}};
// From memory, as the limits.
constexpr double kRatings[] = {1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40};

}  // namespace

BlowingTime BlowingTimeOf(double load) {
  const Gate* above = std::ranges::lower_bound(kGates, load, {}, &Gate::load);
  const Gate* below = std::ranges::upper_bound(kGates, load, {}, &Gate::load);
  BlowingTime time;
  if (above != std::end(kGates)) time.least_s = above->least_s;
  if (below != std::begin(kGates)) time.most_s = std::prev(below)->most_s;
  return time;
}

std::optional<double> UsualRating(double ampere, double share) {
  const double* found = std::ranges::lower_bound(kRatings, ampere / share);
  if (found == std::end(kRatings)) return std::nullopt;
  return *found;
}

std::optional<double> LargestRating(double ampere) {
  const double* above = std::ranges::upper_bound(kRatings, ampere);
  if (above == std::begin(kRatings)) return std::nullopt;
  return *std::prev(above);
}

}  // namespace drycrank::schedule
