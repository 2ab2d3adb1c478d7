// SPDX-License-Identifier: Apache-2.0
#include "output/card_level.h"

#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <numbers>

namespace drycrank::output {
namespace {

constexpr double kRate = 48'000;

TEST(CardLevel, FullScaleIsOne) {
  CardLevel level({.full_scale_v = 2.5}, kRate);
  EXPECT_DOUBLE_EQ(level.Next(2.5), 1);
  EXPECT_DOUBLE_EQ(level.Next(-1.25), -0.5);
}

TEST(CardLevel, LouderIsClippedAndCounted) {
  CardLevel level({.full_scale_v = 2.5}, kRate);
  EXPECT_EQ(level.Next(2.6), 1);
  EXPECT_EQ(level.Next(-9), -1);
  EXPECT_EQ(level.Next(2), 0.8);
  EXPECT_EQ(level.clipped(), 2U);
}

TEST(CardLevel, InvertedAndMovedByTheVoltsOfZero) {
  CardLevel level({.full_scale_v = 5, .zero_v = 2.5, .inverted = true}, kRate);
  EXPECT_DOUBLE_EQ(level.Next(5), -0.5);
  EXPECT_DOUBLE_EQ(level.Next(2.5), 0);
  EXPECT_DOUBLE_EQ(level.Next(0), 0.5);
}

// A capacitor's high-pass of first order, exact for steps held over a sample.
class Capacitor {
 public:
  explicit Capacitor(double corner_hz)
      : keep_(std::exp(-2 * std::numbers::pi * corner_hz / kRate)) {}
  // The mean of what leaves over the sample does not matter here: the corner is far below the rate.
  double Next(double in) {
    out_ = keep_ * (out_ + in - before_);
    before_ = in;
    return out_;
  }

 private:
  double keep_, out_ = 0, before_ = 0;
};

// What a sine of this frequency becomes, through the compensation if so, and the capacitor of 10 Hz.
std::complex<double> Through(double hz, bool compensated) {
  CardLevel level({.full_scale_v = 100, .corner_hz = compensated ? 10.0 : 0.0}, kRate);
  Capacitor capacitor(10);
  std::complex<double> sum = 0;
  const int settle = 20 * static_cast<int>(kRate), count = static_cast<int>(kRate);
  for (int n = 0; n < settle + count; ++n) {
    const double phase = 2 * std::numbers::pi * hz * n / kRate;
    const double heard = 100 * capacitor.Next(level.Next(std::sin(phase)));
    if (n >= settle) sum += heard * std::polar(1.0, -phase) * std::complex<double>(0, 2.0 / count);
  }
  return sum;
}

// 60 teeth at 20 r/min are 20 Hz. Without compensation the phase is atan(10/20) = 26.6 degrees of the
// wave, 0.44 of crank; with it atan(0.1/20) = 0.29, and 0.005 of crank.
TEST(CardLevel, WhatTheCapacitorTurnsIsPutInBefore) {
  const auto plain = Through(20, false), compensated = Through(20, true);
  EXPECT_NEAR(std::arg(plain), std::atan(10.0 / 20), 1e-3);
  EXPECT_NEAR(std::abs(plain), 1 / std::sqrt(1 + 0.25), 1e-3);
  EXPECT_NEAR(std::arg(compensated), std::atan(0.1 / 20), 1e-3);
  EXPECT_NEAR(std::abs(compensated), 1, 1e-3);
}

TEST(CardLevel, AtHighSpeedItChangesNothing) {
  EXPECT_NEAR(std::abs(Through(3000, true)), 1, 1e-3);
  EXPECT_NEAR(std::arg(Through(3000, true)), 0, 1e-3);
}

}  // namespace
}  // namespace drycrank::output
