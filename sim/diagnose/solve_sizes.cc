// SPDX-License-Identifier: Apache-2.0
//
// Sizes that were looked at: how much of the range is likely, and which of them are the same to all that
// was read (solve.h).
#include <algorithm>
#include <cmath>

#include "diagnose/solve.h"

namespace drycrank::diagnose {
namespace {

constexpr double kLeastArea = 1e-12;
constexpr double kPlainEnough = 0.01;  // nats behind the likeliest: rounding
constexpr std::size_t kMostAsLikely = 5;
constexpr double kWidePlateau = 1, kKnownEnd = 0.5;  // of ln R
constexpr int kEndHalves = 3;

bool IsShort(const Hypothesis& hypothesis) {
  namespace fault = profile::fault;
  const profile::Fault& f = hypothesis.faults[0];
  return f.Is<fault::ShortToGround>() || f.Is<fault::ShortToSupply>() ||
         f.Is<fault::ShortTogether>();
}

// The two ends and some between.
std::vector<double> Thinned(const std::vector<double>& all) {
  if (all.size() <= kMostAsLikely) return all;
  std::vector<double> kept;
  for (std::size_t i = 0; i < kMostAsLikely; ++i) {
    kept.push_back(all[i * (all.size() - 1) / (kMostAsLikely - 1)]);
  }
  return kept;
}

}  // namespace

double LogArea(std::vector<std::pair<double, double>> points, double low, double high) {
  std::sort(points.begin(), points.end());
  double top = -1e300;
  for (const auto& [x, y] : points) top = std::max(top, y);
  double area = 0;
  for (std::size_t i = 1; i < points.size(); ++i) {
    const auto& [x0, y0] = points[i - 1];
    const auto& [x1, y1] = points[i];
    // log L is taken as straight between them: exact where it is, near where the points are close.
    const double step = y1 - y0;
    const double mean = std::abs(step) < 1e-6 ? std::exp(y0 - top)
                                              : (std::exp(y1 - top) - std::exp(y0 - top)) / step;
    area += (x1 - x0) * mean;
  }
  return std::log(std::clamp(area / (high - low), kLeastArea, 1.0));
}

// A plain short before one of some ohm that is no likelier.
std::size_t Solver::BestOf(const Hypothesis& hypothesis, std::span<const Point> points) {
  const auto top = std::ranges::max_element(points, {}, &Point::log_like);
  const bool plain = !points[0].screened && points[0].log_like >= top->log_like - kPlainEnough;
  if (plain && IsShort(hypothesis)) return 0;
  return static_cast<std::size_t>(top - points.begin());
}

// Of a short of which sizes far apart look the same: how far that goes, by halves.
void Solver::FindEnds(const Hypothesis& hypothesis, const Sensitivities& columns, double least,
                      Ceiling& ceiling, std::vector<Point>& points) const {
  if (!IsShort(hypothesis)) return;
  std::ranges::sort(points, {}, &Point::x);
  Fit seen;
  seen.hypothesis = hypothesis;
  NoteAsLikely(points, BestOf(hypothesis, points), kNearly, seen);
  if (seen.x_high - seen.x_low < kWidePlateau) return;
  const double top = std::ranges::max_element(points, {}, &Point::log_like)->log_like;
  const auto after =
      std::ranges::find_if(points, [&](const Point& p) { return p.x > seen.x_high; });
  if (after == points.end()) return;
  double likely = seen.x_high, not_likely = after->x;
  for (int i = 0; i < kEndHalves && not_likely - likely > kKnownEnd; ++i) {
    const double x = (likely + not_likely) / 2;
    points.push_back(Near(hypothesis, x, nuisances_.everywhere(), columns, least, &ceiling));
    const Point& now = points.back();
    (!now.screened && now.log_like >= top - kNearly ? likely : not_likely) = x;
  }
}

void Solver::NoteAsLikely(std::span<const Point> points, std::size_t best, double within,
                          Fit& fit) {
  const auto is_likely = [&](std::size_t i) {
    return !points[i].screened && points[i].log_like >= points[best].log_like - within;
  };
  std::vector<double> all;
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (i != best && is_likely(i)) all.push_back(points[i].x);
  }
  // Of ohms in a wire that is nearly open the first look knows enough.
  if (IsShort(fit.hypothesis)) fit.as_likely = Thinned(all);
  std::size_t first = best, last = best;
  while (first > 0 && is_likely(first - 1)) --first;
  while (last + 1 < points.size() && is_likely(last + 1)) ++last;
  fit.x_low = points[first].x, fit.x_high = points[last].x;
}

}  // namespace drycrank::diagnose
