// SPDX-License-Identifier: Apache-2.0
// The measuring instrument itself, against integrals known by hand.
#include "tests/engine/quadrature.h"

#include <gtest/gtest.h>

namespace drycrank::quadrature {
namespace {

TEST(Quadrature, IntegratesASineHumpToTwo) {
  const Real area = Integrate([](Real x) { return std::sin(x); }, 0, kPi, 1);
  EXPECT_LT(std::abs(area - 2), 1e-17L);
}

TEST(Quadrature, IntegratesAPowerOfTen) {
  // Integral of x^9 from 0 to 2 = 2^10 / 10.
  const Real area = Integrate([](Real x) { return std::pow(x, 9); }, 0, 2, 2);
  EXPECT_LT(std::abs(area - 102.4L), 1e-16L);
}

TEST(Quadrature, FindsTheRootOfTwo) {
  const Real root = Root([](Real x) { return x * x - 2; }, 0, 2);
  EXPECT_LT(std::abs(root - std::numbers::sqrt2_v<Real>), 1e-18L);
}

}  // namespace
}  // namespace drycrank::quadrature
