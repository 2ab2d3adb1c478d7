// SPDX-License-Identifier: Apache-2.0
#include "sensor/ntc.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstddef>
#include <limits>

#include "profile/sensors.h"
#include "sensor/root.h"
#include "types/nth.h"

namespace drycrank::sensor {
namespace {

constexpr double kZeroDegcInK = 273.15;
constexpr double k25DegcInK = 298.15;

double DegcOfReciprocal(double per_kelvin) {
  if (!(per_kelvin > 0)) return std::numeric_limits<double>::max();
  return 1 / per_kelvin - kZeroDegcInK;
}

// One stretch of the table: ln R over temperature between two neighbouring points.
struct Piece {
  double begin_degc = 0;
  double width = 0;
  double begin_y = 0, end_y = 0;          // ln R
  double begin_slope = 0, end_slope = 0;  // ln R per degC

  // At u in [0, 1] of the width; the slope is per u.
  ValueAndSlope At(double u) const {
    const double rise = end_y - begin_y;
    const double m0 = begin_slope * width;
    const double m1 = end_slope * width;
    const double c2 = 3 * rise - 2 * m0 - m1;
    const double c3 = m0 + m1 - 2 * rise;
    return {begin_y + u * (m0 + u * (c2 + u * c3)), m0 + u * (2 * c2 + 3 * u * c3)};
  }
};

double Secant(const Points& points, std::size_t i) {
  return std::log(points[i + 1].second / points[i].second) /
         (points[i + 1].first - points[i].first);
}

double Width(const Points& points, std::size_t i) { return points[i + 1].first - points[i].first; }

// Slope at the end of the table that has `near` as its own secant and `next` as the one beyond.
double EndSlope(double near, double near_width, double next, double next_width) {
  const double parabola =
      ((2 * near_width + next_width) * near - near_width * next) / (near_width + next_width);
  return std::clamp(parabola, 3 * near, 0.0);
}

double InnerSlope(double left, double left_width, double right, double right_width) {
  const double parabola = (left_width * right + right_width * left) / (left_width + right_width);
  return std::max(parabola, 3 * std::max(left, right));  // all secants are negative
}

double Slope(const Points& points, std::size_t i) {
  const std::size_t last = points.size() - 1;
  if (last == 1) return Secant(points, 0);
  if (i == 0) {
    return EndSlope(Secant(points, 0), Width(points, 0), Secant(points, 1), Width(points, 1));
  }
  if (i == last) {
    return EndSlope(Secant(points, last - 1), Width(points, last - 1), Secant(points, last - 2),
                    Width(points, last - 2));
  }
  return InnerSlope(Secant(points, i - 1), Width(points, i - 1), Secant(points, i),
                    Width(points, i));
}

// `next` points behind the piece wanted; the ends of the table belong to its first and last piece.
Piece PieceBefore(const Points& points, Points::const_iterator next) {
  const auto behind = AsSize(next - points.begin());
  const std::size_t i = std::clamp<std::size_t>(behind, 1, points.size() - 1) - 1;
  return {points[i].first,
          Width(points, i),
          std::log(points[i].second),
          std::log(points[i + 1].second),
          Slope(points, i),
          Slope(points, i + 1)};
}

}  // namespace

double NtcOhm(const profile::BetaNtc& curve, double degc) {
  return curve.r25_ohm * std::exp(curve.beta_k * (1 / (degc + kZeroDegcInK) - 1 / k25DegcInK));
}

double NtcDegc(const profile::BetaNtc& curve, double ohm) {
  return DegcOfReciprocal(1 / k25DegcInK + std::log(ohm / curve.r25_ohm) / curve.beta_k);
}

// x = ln R solves x^3 + p x + q = 0 with p = B/C > 0: one real root, which Cardano's formula gives
// in its hyperbolic form, x = -2 s sinh(asinh(q / (2 s^3)) / 3) with s = sqrt(p/3). The form with
// two cube roots loses digits where they nearly cancel.
double NtcOhm(const profile::SteinhartHartNtc& curve, double degc) {
  const double constant = curve.a - 1 / (degc + kZeroDegcInK);
  if (curve.c == 0) return std::exp(-constant / curve.b);
  const double s = std::sqrt(curve.b / (3 * curve.c));
  const double q = constant / curve.c;
  return std::exp(-2 * s * std::sinh(std::asinh(q / (2 * s * s * s)) / 3));
}

double NtcDegc(const profile::SteinhartHartNtc& curve, double ohm) {
  const double x = std::log(ohm);
  return DegcOfReciprocal(curve.a + x * (curve.b + curve.c * x * x));
}

double NtcOhm(const profile::TableNtc& curve, double degc) {
  const Points& points = curve.ohm_at_degc;
  assert(points.size() >= 2);
  const auto next = std::upper_bound(points.begin(), points.end(), degc,
                                     [](double t, const auto& point) { return t < point.first; });
  const Piece piece = PieceBefore(points, next);
  return std::exp(piece.At(std::clamp((degc - piece.begin_degc) / piece.width, 0.0, 1.0)).value);
}

double NtcDegc(const profile::TableNtc& curve, double ohm) {
  const Points& points = curve.ohm_at_degc;
  assert(points.size() >= 2);
  if (ohm >= points.front().second) return points.front().first;
  if (ohm <= points.back().second) return points.back().first;
  const auto next = std::upper_bound(points.begin(), points.end(), ohm,
                                     [](double r, const auto& point) { return r > point.second; });
  const Piece piece = PieceBefore(points, next);
  const auto rising = [&piece](double u) {
    const ValueAndSlope at = piece.At(u);
    return ValueAndSlope{-at.value, -at.slope};
  };
  const double y = std::log(ohm);
  const double start = (y - piece.begin_y) / (piece.end_y - piece.begin_y);
  return piece.begin_degc +
         piece.width * SolveRising(rising, -y, 0, 1, std::clamp(start, 0.0, 1.0));
}

}  // namespace drycrank::sensor
