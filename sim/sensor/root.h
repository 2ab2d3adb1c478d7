// SPDX-License-Identifier: Apache-2.0
//
// x with f(x) = y for a rising f, inside [lo, hi]: Newton's method, kept inside a bracket that
// shrinks with each step and falls back to halving it, so that a poor start or a flat stretch
// cannot run away. Outside f(lo)..f(hi) the nearer end is the answer. For the inverses that have no
// closed form.
#ifndef DRYCRANK_SENSOR_ROOT_H_
#define DRYCRANK_SENSOR_ROOT_H_

#include <cmath>

namespace drycrank::sensor {

struct ValueAndSlope {
  double value = 0;
  double slope = 0;
};

// `f` returns ValueAndSlope. REQUIRES: lo <= start <= hi.
template <class Function>
double SolveRising(const Function& f, double y, double lo, double hi, double start) {
  constexpr int kMostSteps = 100;  // halving alone takes 60 to the last bit
  double x = start;
  for (int step = 0; step < kMostSteps; ++step) {
    const ValueAndSlope at = f(x);
    (at.value < y ? lo : hi) = x;
    double next = x + (y - at.value) / at.slope;
    if (!(next >= lo && next <= hi)) next = 0.5 * (lo + hi);
    if (std::abs(next - x) <= 1e-13 * (1 + std::abs(x))) return next;
    x = next;
  }
  return x;
}

}  // namespace drycrank::sensor

#endif  // DRYCRANK_SENSOR_ROOT_H_
