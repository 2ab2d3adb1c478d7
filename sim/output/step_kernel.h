// SPDX-License-Identifier: Apache-2.0
//
// What a jump between two samples becomes when the samples carry no frequency above half their rate.
//
//   h     low-pass, one at 0 Hz, 24 samples long, even: sinc(2 f x) times a Kaiser window
//   u_i   x^i / i! for x >= 0, else 0: a jump of one in the i-th derivative, at x = 0
//   H_i   u_i through h: the (i + 1)-fold integral of h
//   r_i   H_i - u_i: what is added to the point taken from the curve; 0 outside of the window
//
// x in samples. f = 0.381 of the rate, window beta 8.96: 90 dB down from half the rate on, flat to
// 1e-4 below a quarter of it. The law of the window and its 90 dB: J. F. Kaiser, R. W. Schafer, "On
// the use of the I0-sinh window for spectrum analysis", IEEE Trans. ASSP 28 (1980) 105-107.
//
// Rejected: many points and a decimator. It needs 500 times the points for the same edges, and the
// place of an edge is still that of a point.
#ifndef DRYCRANK_OUTPUT_STEP_KERNEL_H_
#define DRYCRANK_OUTPUT_STEP_KERNEL_H_

#include <array>
#include <span>
#include <vector>

namespace drycrank::output {

class StepKernel {
 public:
  static constexpr int kHalf = 12;   // samples on either side that a jump reaches
  static constexpr int kOrders = 4;  // value, slope, and the two derivatives above
  static constexpr int kTaps = 2 * kHalf;

  static const StepKernel& Get();

  // Adds jump * r_order at part - kHalf, part - kHalf + 1, ... to as many samples. Linear between 512
  // parts of a sample: good to 1e-5 of the jump.
  // REQUIRES: 0 <= order < kOrders, 0 <= part < 1, kTaps samples.
  void AddTo(std::span<double> samples, int order, double jump, double part) const;

 private:
  using Taps = std::array<double, kTaps>;

  StepKernel();

  std::array<std::vector<Taps>, kOrders> at_part_;
};

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_STEP_KERNEL_H_
