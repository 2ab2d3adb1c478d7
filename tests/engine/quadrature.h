// SPDX-License-Identifier: Apache-2.0
//
// The independent computation that edge times are held against: Gauss-Legendre quadrature of an
// instantaneous speed (or slowness) and root-finding by bisection, all in extended precision
// (64-bit significand). Nothing here knows a closed form of a motion, and nothing calls the code
// under test.
#ifndef DRYCRANK_TESTS_ENGINE_QUADRATURE_H_
#define DRYCRANK_TESTS_ENGINE_QUADRATURE_H_

#include <array>
#include <cmath>
#include <numbers>

namespace drycrank::quadrature {

using Real = long double;
inline constexpr Real kPi = std::numbers::pi_v<Real>;
inline constexpr int kPoints = 20;

struct Rule {
  std::array<Real, kPoints> node;
  std::array<Real, kPoints> weight;
};

// Nodes are the zeros of the Legendre polynomial P_n, found by Newton's method from its recurrence
// (Abramowitz and Stegun, 25.4.29: weight = 2 / ((1 - x^2) P_n'(x)^2)).
inline Rule GaussLegendre() {
  Rule rule;
  for (int i = 0; i < kPoints; ++i) {
    Real x = std::cos(kPi * (static_cast<Real>(i) + 0.75L) / (kPoints + 0.5L));
    Real slope = 1;
    for (int pass = 0; pass < 20; ++pass) {
      Real before = 1;
      Real p = x;
      for (int k = 2; k <= kPoints; ++k) {
        const Real next = ((2 * k - 1) * x * p - (k - 1) * before) / k;
        before = p;
        p = next;
      }
      slope = kPoints * (x * p - before) / (x * x - 1);
      x -= p / slope;
    }
    const auto at = static_cast<std::size_t>(i);
    rule.node[at] = x;
    rule.weight[at] = 2 / ((1 - x * x) * slope * slope);
  }
  return rule;
}

// Integral of f from `from` to `to` in panels no wider than `panel`.
template <class F>
Real Integrate(const F& f, Real from, Real to, Real panel) {
  static const Rule rule = GaussLegendre();
  const auto panels = static_cast<long>(std::ceil((to - from) / panel)) + 1;
  const Real half = (to - from) / static_cast<Real>(panels) / 2;
  Real sum = 0;
  for (long k = 0; k < panels; ++k) {
    const Real middle = from + half * static_cast<Real>(2 * k + 1);
    for (std::size_t i = 0; i < kPoints; ++i)
      sum += rule.weight[i] * f(middle + half * rule.node[i]);
  }
  return sum * half;
}

// x in [low, high] with f(x) == 0 for a rising f, to the last bit.
template <class F>
Real Root(const F& f, Real low, Real high) {
  for (int i = 0; i < 80; ++i) {
    const Real middle = (low + high) / 2;
    (f(middle) < 0 ? low : high) = middle;
  }
  return (low + high) / 2;
}

}  // namespace drycrank::quadrature

#endif  // DRYCRANK_TESTS_ENGINE_QUADRATURE_H_
