// SPDX-License-Identifier: Apache-2.0
//
// What a channel's values are like, found in one pass of a stream: how often each level is met, and
// how high its steps are. From it comes the way in which edges are found (edge_finder.h).
//
//   two levels      most values lie near one of two: a threshold halfway, with hysteresis
//   steps           they do not, as behind a capacitor, where a level sinks to nothing between edges:
//                   an edge is where the value leaps within few samples
//   wave            a coil: crossings of its resting value
//
// Noise differs from one sample to the next, a wave of some samples hardly bends: sixth differences
// take the wave away, and give noise sqrt(924) times (1, -6, 15, -20, 15, -6, 1). A wave of few
// samples a tooth looks like noise in them; then they are not as many times the fourth differences
// as of noise, and tell nothing.
#ifndef DRYCRANK_CAPTURE_LEVEL_STATS_H_
#define DRYCRANK_CAPTURE_LEVEL_STATS_H_

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace drycrank::capture {

// Counts of values in kBins of one width; the width doubles when a value lies outside.
class Histogram {
 public:
  static constexpr std::size_t kBins = 4096;

  void Add(double value);
  std::uint64_t count() const { return count_; }
  // The value that this share of all lies below. REQUIRES: count() > 0.
  double Quantile(double share) const;
  // How many lie within [from, to], as a share.
  double Share(double from, double to) const;

 private:
  void Widen(bool upwards);

  double low_ = 0, width_ = 0;
  std::uint64_t count_ = 0;
  std::vector<std::uint64_t> bins_ = std::vector<std::uint64_t>(kBins, 0);
};

class LevelStats {
 public:
  void Add(double value);
  void EndChunk();  // some tens of milliseconds

  bool any() const { return histogram_.count() > 0; }
  // The value that this share of all lies below. REQUIRES: any().
  double Quantile(double share) const { return histogram_.Quantile(share); }
  double Share(double from, double to) const { return histogram_.Share(from, to); }
  // Do most values of either half lie near its level?
  bool HasTwoLevels(double* low, double* high) const;

  // Over how many samples a step is whole, 2^n, and its height. Height 0: no steps.
  struct Step {
    std::size_t samples = 1;
    double height = 0;
  };
  Step TypicalStep() const;

  // How far from `rest` values go where they go farthest: in nine of ten chunks they stay within.
  double Farthest(double rest) const;
  // Standard deviation of noise, where it can be told from the signal; else 0.
  double Noise() const;

  static constexpr std::size_t kLags = 7;  // 1, 2, 4, ... 64 samples

 private:
  void NoteBend();
  void EndSpan();

  Histogram histogram_;
  std::array<double, std::size_t{1} << kLags> recent_{};  // ring
  std::uint64_t count_ = 0;
  std::array<double, kLags> highest_{};              // of this chunk
  std::array<std::vector<float>, kLags> per_chunk_;  // of each chunk
  double lowest_v_ = 0, highest_v_ = 0;
  bool any_in_chunk_ = false;
  std::vector<std::array<float, 2>> spans_;  // of each chunk
  std::vector<float> fourth_, sixth_;        // differences in this chunk
  std::vector<float> noise_;                 // of each chunk that shows it
};

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_LEVEL_STATS_H_
