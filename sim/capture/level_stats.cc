// SPDX-License-Identifier: Apache-2.0
#include "capture/level_stats.h"

#include <algorithm>
#include <cmath>

#include "capture/quantile.h"

namespace drycrank::capture {
namespace {

constexpr double kNarrowest = 1e-6;  // of the first value, as a bin
constexpr double kNearLevel = 0.2;   // of the way between two levels
constexpr double kLeastNear = 0.7;   // share of one half's values that lie near its level
constexpr double kWholeStep = 0.9;   // of the height over twice the lag ...
constexpr double kTallEnough = 0.5;  // ... and of that over the longest, in which levels sink too
constexpr double kTypical = 0.9;     // of the chunks have a lower step: not each has an edge
constexpr std::size_t kMostChunks = 100'000;
constexpr std::size_t kBends = 2048;  // of a chunk
const double kOfMedian = 0.6745;      // of a normal distribution: the median of |x|, in sigmas
const double kOfSixth =
    std::sqrt(924.0);           // 1 + 36 + 225 + 400 + 225 + 36 + 1, of (1, -6, 15, -20, ...)
constexpr double kWhite = 3.3;  // of noise the sixth are sqrt(924 / 70) = 3.6 times the fourth
constexpr double kSlow = 0.25;  // of the chunks are slower
constexpr double kHigh = 0.9;   // of the chunks are lower

double MedianOf(std::vector<float>& values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

}  // namespace

void Histogram::Add(double value) {
  if (count_ == 0) {
    width_ = std::max(std::abs(value), 1e-3) * kNarrowest;
    low_ = value - width_ * kBins / 2;
  }
  while (value < low_) Widen(false);
  while (value >= low_ + width_ * kBins) Widen(true);
  const auto bin = static_cast<std::size_t>((value - low_) / width_);
  ++bins_[std::min(bin, kBins - 1)];
  ++count_;
}

void Histogram::Widen(bool upwards) {
  std::vector<std::uint64_t> wider(kBins, 0);
  const std::size_t first = upwards ? 0 : kBins / 2;
  for (std::size_t i = 0; i < kBins; ++i) wider[first + i / 2] += bins_[i];
  if (!upwards) low_ -= width_ * kBins;
  width_ *= 2;
  bins_.swap(wider);
}

double Histogram::Quantile(double share) const {
  const double wanted = share * static_cast<double>(count_);
  double below = 0;
  for (std::size_t i = 0; i < kBins; ++i) {
    below += static_cast<double>(bins_[i]);
    if (below > wanted) return low_ + width_ * (static_cast<double>(i) + 0.5);
  }
  return low_ + width_ * kBins;
}

double Histogram::Share(double from, double to) const {
  std::uint64_t in = 0;
  for (std::size_t i = 0; i < kBins; ++i) {
    const double value = low_ + width_ * (static_cast<double>(i) + 0.5);
    if (value >= from && value <= to) in += bins_[i];
  }
  return static_cast<double>(in) / static_cast<double>(std::max<std::uint64_t>(count_, 1));
}

void LevelStats::Add(double value) {
  histogram_.Add(value);
  const std::size_t mask = recent_.size() - 1;
  for (std::size_t lag = 0; lag < kLags; ++lag) {
    const std::uint64_t back = std::uint64_t{1} << lag;
    if (count_ < back) break;
    const double step = std::abs(value - recent_[(count_ - back) & mask]);
    highest_[lag] = std::max(highest_[lag], step);
  }
  recent_[count_++ & mask] = value;
  lowest_v_ = any_in_chunk_ ? std::min(lowest_v_, value) : value;
  highest_v_ = any_in_chunk_ ? std::max(highest_v_, value) : value;
  any_in_chunk_ = true;
  if (count_ > 6 && fourth_.size() < kBends) NoteBend();
}

void LevelStats::NoteBend() {
  const std::size_t mask = recent_.size() - 1;
  const auto back = [&](std::uint64_t by) { return recent_[(count_ - 1 - by) & mask]; };
  const auto fourth = [&](std::uint64_t by) {
    return back(by) - 4 * back(by + 1) + 6 * back(by + 2) - 4 * back(by + 3) + back(by + 4);
  };
  fourth_.push_back(static_cast<float>(std::abs(fourth(0))));
  sixth_.push_back(static_cast<float>(std::abs(fourth(0) - 2 * fourth(1) + fourth(2))));
}

void LevelStats::EndSpan() {
  if (any_in_chunk_ && spans_.size() < kMostChunks)
    spans_.push_back({static_cast<float>(lowest_v_), static_cast<float>(highest_v_)});
  any_in_chunk_ = false;
  if (!fourth_.empty() && noise_.size() < kMostChunks) {
    const double sixth = MedianOf(sixth_);
    if (sixth > kWhite * MedianOf(fourth_))
      noise_.push_back(static_cast<float>(sixth / (kOfMedian * kOfSixth)));
  }
  fourth_.clear();
  sixth_.clear();
}

double LevelStats::Farthest(double rest) const {
  std::vector<double> far;
  for (const auto& [low, high] : spans_) far.push_back(std::max(high - rest, rest - low));
  if (far.empty()) return 0;
  std::ranges::sort(far);
  return QuantileOf(far, kHigh);
}

double LevelStats::Noise() const {
  std::vector<float> sorted = noise_;
  if (sorted.empty()) return 0;
  std::ranges::sort(sorted);
  return QuantileOf(sorted, kSlow);
}

void LevelStats::EndChunk() {
  EndSpan();
  for (std::size_t lag = 0; lag < kLags; ++lag) {
    if (per_chunk_[lag].size() < kMostChunks)
      per_chunk_[lag].push_back(static_cast<float>(highest_[lag]));
    highest_[lag] = 0;
  }
}

// Levels as the extremes without the few that lie outside; a level that is met seldom (a mark of
// one tooth) is still met in 1 of 100.
bool LevelStats::HasTwoLevels(double* low, double* high) const {
  const double bottom = histogram_.Quantile(0.004), top = histogram_.Quantile(0.996);
  const double near = kNearLevel * (top - bottom), middle = (top + bottom) / 2;
  constexpr double kFar = 1e30;
  if (top <= bottom) return false;
  *low = bottom;
  *high = top;
  return histogram_.Share(-kFar, bottom + near) > kLeastNear * histogram_.Share(-kFar, middle) &&
         histogram_.Share(top - near, kFar) > kLeastNear * histogram_.Share(middle, kFar);
}

LevelStats::Step LevelStats::TypicalStep() const {
  std::array<double, kLags> heights{};
  for (std::size_t lag = 0; lag < kLags; ++lag) {
    std::vector<float> sorted = per_chunk_[lag];
    if (sorted.empty()) return {};
    std::ranges::sort(sorted);
    heights[lag] = sorted[static_cast<std::size_t>(
        std::ceil(kTypical * static_cast<double>(sorted.size() - 1)))];
  }
  for (std::size_t lag = 0; lag + 1 < kLags; ++lag) {
    const bool is_whole = heights[lag] >= kWholeStep * heights[lag + 1];
    if (is_whole && heights[lag] >= kTallEnough * heights[kLags - 1]) {
      return {std::max<std::size_t>(2, std::size_t{1} << lag), heights[lag]};
    }
  }
  return {std::size_t{1} << (kLags - 1), heights[kLags - 1]};
}

}  // namespace drycrank::capture
