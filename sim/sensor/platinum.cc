// SPDX-License-Identifier: Apache-2.0
#include "sensor/platinum.h"

#include <algorithm>
#include <cmath>

#include "sensor/root.h"

namespace drycrank::sensor {
namespace {

constexpr double kA = 3.9083e-3;
constexpr double kB = -5.775e-7;
constexpr double kC = -4.183e-12;

// R/R0 and its slope per degC.
ValueAndSlope Above0(double t) { return {1 + t * (kA + t * kB), kA + 2 * kB * t}; }
ValueAndSlope Below0(double t) {
  return {1 + t * (kA + t * (kB + t * (t - 100) * kC)), kA + t * (2 * kB + t * kC * (4 * t - 300))};
}

}  // namespace

double PlatinumOhm(double r0_ohm, double degc) {
  const double t = std::clamp(degc, kPlatinumMinDegc, kPlatinumMaxDegc);
  return r0_ohm * (t < 0 ? Below0(t) : Above0(t)).value;
}

double PlatinumDegc(double r0_ohm, double ohm) {
  const double ratio = ohm / r0_ohm;
  // The quadratic's root that passes through 0 degC, written so that nothing cancels there. Its
  // discriminant is positive up to a ratio of 7.6, far above the end of the range.
  const double most = Above0(kPlatinumMaxDegc).value;
  const double x = std::min(ratio, most) - 1;
  const double t = 2 * x / (kA + std::sqrt(kA * kA + 4 * kB * x));
  if (ratio >= 1) return std::min(t, kPlatinumMaxDegc);
  // Below 0 degC the quadratic is off by up to 2.4 K; a quartic has no handy closed form.
  return SolveRising(Below0, ratio, kPlatinumMinDegc, 0, std::clamp(t, kPlatinumMinDegc, 0.0));
}

}  // namespace drycrank::sensor
