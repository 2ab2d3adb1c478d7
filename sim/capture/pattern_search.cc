// SPDX-License-Identifier: Apache-2.0
#include "capture/pattern_search.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "types/nth.h"

namespace drycrank::capture {
namespace {

constexpr double kReachDeg =
    40;  // to either side: less than the way from one compression to the next
constexpr double kMostWidth = 0.15;  // that a sensor may take for its own, of the shortest step

constexpr int kFewMarks = 24;

using Weights = std::vector<double>;  // 2 reach + 1; that of the edge itself is 0

// Value at 0 of the parabola through points at x, as factors of their values. Normal equations of
// 1, x, x^2, solved for the first row of the inverse.
Weights ParabolaAtZero(std::span<const double> x) {
  double s[5] = {};
  for (const double v : x) {
    double power = 1;
    for (double& sum : s) {
      sum += power;
      power *= v;
    }
  }
  const double a = s[2] * s[4] - s[3] * s[3], b = s[2] * s[3] - s[1] * s[4],
               c = s[1] * s[3] - s[2] * s[2];
  const double determinant = s[0] * a + s[1] * b + s[2] * c;
  Weights weights;
  for (const double v : x) weights.push_back((a + b * v + c * v * v) / determinant);
  return weights;
}

Weights WeightsAt(std::span<const SeenChange> window, int at, int reach) {
  const auto i = AsSize(at), r = AsSize(reach);
  const double span_ns = std::max(window[i + r].t_ns - window[i - r].t_ns, 1.0);
  std::vector<double> x;
  for (std::size_t j = i - r; j <= i + r; ++j) {
    if (j != i) x.push_back((window[j].t_ns - window[i].t_ns) / span_ns);
  }
  Weights weights = ParabolaAtZero(x);
  weights.insert(weights.begin() + reach, 0.0);
  return weights;
}

class Layer {
 public:
  Layer(std::span<const SeenChange> window, const WheelPattern& pattern)
      : window_(window), pattern_(pattern), reach_(ReachOf(pattern)) {
    const int size = static_cast<int>(window.size());
    for (int i = reach_; i + reach_ < size; ++i) weights_.push_back(WeightsAt(window, i, reach_));
    most_width_deg_ = kMostWidth * pattern.LeastStepDeg();
  }

  // With the window's first edge at this mark.
  double Cost(int mark) const {
    std::vector<double> angle_deg;
    for (std::size_t i = 0; i < window_.size(); ++i) {
      angle_deg.push_back(pattern_.DegOf(mark + static_cast<int>(i)));
    }
    std::vector<double> off_deg;
    for (std::size_t c = 0; c < weights_.size(); ++c) {
      double expected_deg = 0;
      for (std::size_t j = 0; j < weights_[c].size(); ++j)
        expected_deg += weights_[c][j] * angle_deg[c + j];
      off_deg.push_back(angle_deg[c + AsSize(reach_)] - expected_deg);
    }
    if (pattern_.both_edges) TakeWidthOut(off_deg);
    return MeanOf(off_deg);
  }

  // Mean square of what the edges of each turn are off where its speed is even.
  double UnevenDeg2(int mark) const {
    const std::size_t size = AsSize(pattern_.size());
    double sum_deg2 = 0, count = 0;
    for (std::size_t from = 0; from + size < window_.size(); ++from) {
      const double turn_ns = window_[from + size].t_ns - window_[from].t_ns;
      for (std::size_t i = 1; i < size; ++i, ++count) {
        const double share = (window_[from + i].t_ns - window_[from].t_ns) / turn_ns;
        const int at = mark + static_cast<int>(from);
        const double is_deg = pattern_.DegOf(at + static_cast<int>(i)) - pattern_.DegOf(at);
        sum_deg2 += (is_deg - share * pattern_.turn_deg) * (is_deg - share * pattern_.turn_deg);
      }
    }
    return sum_deg2 / std::max(count, 1.0);
  }

 private:
  bool HighAt(std::size_t centre) const { return window_[centre + AsSize(reach_)].high; }

  void TakeWidthOut(std::vector<double>& off_deg) const {
    std::array<double, 2> sum_deg{}, count{};
    for (std::size_t c = 0; c < off_deg.size(); ++c) {
      sum_deg[HighAt(c)] += off_deg[c];
      count[HighAt(c)] += 1;
    }
    for (std::size_t c = 0; c < off_deg.size(); ++c) {
      const double mean_deg = sum_deg[HighAt(c)] / count[HighAt(c)];
      off_deg[c] -= std::clamp(mean_deg, -most_width_deg_, most_width_deg_);
    }
  }

  double MeanOf(const std::vector<double>& off_deg) const {
    double sum = 0;
    for (const double deg : off_deg) {
      const double pitches = deg / pattern_.MeanStepDeg();
      sum += std::min(pitches * pitches, 1.0);
    }
    return off_deg.empty() ? 1 : sum / static_cast<double>(off_deg.size());
  }

  std::span<const SeenChange> window_;
  const WheelPattern& pattern_;
  int reach_;
  std::vector<Weights> weights_;
  double most_width_deg_;
};

// Of few marks seen in few samples another way may lie a little smoother than the right one, but for
// that the speed would swing in each turn.
void TakeFarMoreEven(const Layer& layer, const WheelPattern& pattern, bool first_is_high,
                     Laid& best) {
  if (pattern.size() > kFewMarks || best.cost >= kFits) return;
  double least_deg2 = layer.UnevenDeg2(best.mark) / (kClearly * kClearly);
  const double most_cost = kClearly * best.cost;
  for (int mark = 0; mark < pattern.size(); ++mark) {
    const bool inverted = pattern.both_edges && first_is_high != pattern.At(mark).high;
    const double cost = inverted == best.inverted ? layer.Cost(mark) : 1;
    const double uneven_deg2 = cost < most_cost ? layer.UnevenDeg2(mark) : least_deg2;
    if (uneven_deg2 >= least_deg2) continue;
    least_deg2 = uneven_deg2;
    best.mark = mark, best.cost = cost;
  }
}

}  // namespace

int ReachOf(const WheelPattern& pattern) {
  return std::clamp(static_cast<int>(kReachDeg / pattern.MeanStepDeg()), 2, 12);
}

int LeastWindow(const WheelPattern& pattern) {
  return std::max(pattern.size(), 4) + 2 * ReachOf(pattern) + 1;
}

Laid LayBest(std::span<const SeenChange> window, const WheelPattern& pattern) {
  Laid best, other;
  if (static_cast<int>(window.size()) < 2 * ReachOf(pattern) + 2) return best;
  const Layer layer(window, pattern);
  for (int mark = 0; mark < pattern.size(); ++mark) {
    const bool inverted = pattern.both_edges && window[0].high != pattern.At(mark).high;
    const double cost = layer.Cost(mark);
    if (inverted != best.inverted && cost < best.cost) {
      other = best;
      best = {mark, inverted, cost, 1};
    } else if (inverted == best.inverted && cost < best.cost) {
      best = {mark, inverted, cost, 1};
    } else if (inverted != best.inverted && cost < other.cost) {
      other = {mark, inverted, cost, 1};
    }
  }
  // Where both ways round lie alike, the one that is drawn.
  if (best.inverted && other.cost < kClearly * std::max(best.cost, 1e-4)) std::swap(best, other);
  best.other_polarity_cost = other.cost;
  TakeFarMoreEven(layer, pattern, window[0].high, best);
  return best;
}

}  // namespace drycrank::capture
