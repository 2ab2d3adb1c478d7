// SPDX-License-Identifier: Apache-2.0
#include "sensor/type_k.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>

#include "sensor/root.h"

namespace drycrank::sensor {
namespace {

// Coefficients from degree 0 up.
constexpr std::array kDirectBelow0 = {
    0.0,
    0.394501280250e-01,
    0.236223735980e-04,
    -0.328589067840e-06,
    -0.499048287770e-08,
    -0.675090591730e-10,
    -0.574103274280e-12,
    -0.310888728940e-14,
    -0.104516093650e-16,
    -0.198892668780e-19,
    -0.163226974860e-22,
};
constexpr std::array kDirectAbove0 = {
    -0.176004136860e-01, 0.389212049750e-01,  0.185587700320e-04, -0.994575928740e-07,
    0.318409457190e-09,  -0.560728448890e-12, 0.560750590590e-15, -0.320207200030e-18,
    0.971511471520e-22,  -0.121047212750e-25,
};
constexpr double kA0 = 0.118597600000;
constexpr double kA1 = -0.118343200000e-03;
constexpr double kA2 = 0.126968600000e+03;

constexpr std::array kInverseBelow0 = {
    0.0,
    2.5173462e+01,
    -1.1662878e+00,
    -1.0833638e+00,
    -8.9773540e-01,
    -3.7342377e-01,
    -8.6632643e-02,
    -1.0450598e-02,
    -5.1920577e-04,
};
constexpr std::array kInverse0To500 = {
    0.0,           2.508355e+01, 7.860106e-02,  -2.503131e-01, 8.315270e-02,
    -1.228034e-02, 9.804036e-04, -4.413030e-05, 1.057734e-06,  -1.052755e-08,
};
constexpr std::array kInverseAbove500 = {
    -1.318058e+02, 4.830222e+01, -1.646031e+00, 5.464731e-02,
    -9.650715e-04, 8.802193e-06, -3.110810e-08,
};
constexpr double kMillivoltAtMinus200 = -5.891;
constexpr double kMillivoltAt500 = 20.644;

template <std::size_t N>
ValueAndSlope Polynomial(const std::array<double, N>& coefficients, double x) {
  ValueAndSlope sum;
  for (std::size_t i = N; i-- > 0;) {
    sum.slope = sum.slope * x + sum.value;
    sum.value = sum.value * x + coefficients[i];
  }
  return sum;
}

ValueAndSlope Direct(double t) {
  if (t < 0) return Polynomial(kDirectBelow0, t);
  ValueAndSlope e = Polynomial(kDirectAbove0, t);
  const double bump = kA0 * std::exp(kA1 * (t - kA2) * (t - kA2));
  e.value += bump;
  e.slope += bump * 2 * kA1 * (t - kA2);
  return e;
}

double PublishedInverse(double millivolt) {
  if (millivolt < kMillivoltAtMinus200) return 0.5 * (kTypeKMinDegc - 200);  // none is published
  if (millivolt < 0) return Polynomial(kInverseBelow0, millivolt).value;
  if (millivolt < kMillivoltAt500) return Polynomial(kInverse0To500, millivolt).value;
  return Polynomial(kInverseAbove500, millivolt).value;
}

}  // namespace

double TypeKMillivolt(double degc) {
  return Direct(std::clamp(degc, kTypeKMinDegc, kTypeKMaxDegc)).value;
}

double TypeKDegc(double millivolt) {
  const double start = std::clamp(PublishedInverse(millivolt), kTypeKMinDegc, kTypeKMaxDegc);
  return SolveRising(Direct, millivolt, kTypeKMinDegc, kTypeKMaxDegc, start);
}

}  // namespace drycrank::sensor
