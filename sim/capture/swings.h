// SPDX-License-Identifier: Apache-2.0
//
// When a value turned back, up or down, by a third of its span and more, whatever its levels are:
// teeth that come too fast for the rate never reach both levels, or only now and then, and leave no
// edges; they still swing.
//
//   edges by levels      ________         ______
//   samples              o  o  o  o  o  o          swings: each top and bottom
//                          o  o  o  o  o
#ifndef DRYCRANK_CAPTURE_SWINGS_H_
#define DRYCRANK_CAPTURE_SWINGS_H_

#include <cmath>
#include <cstddef>
#include <vector>

namespace drycrank::capture {

class Swings {
 public:
  static constexpr std::size_t kMost = 500'000;

  explicit Swings(double span) : least_(kLeast * span) {}
  void Add(double t_ns, double value);
  std::vector<double>& times_ns() { return times_ns_; }

 private:
  static constexpr double kLeast = 0.3;  // of the span

  double least_;
  bool begun_ = false, up_ = true;
  double extreme_ = 0, extreme_ns_ = 0;
  std::vector<double> times_ns_;  // of tops and bottoms in turn
};

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_SWINGS_H_
