// SPDX-License-Identifier: Apache-2.0
#include "output/step_kernel.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "types/nth.h"

namespace drycrank::output {
namespace {

constexpr int kParts = 512;  // of a sample, in the table
constexpr int kFine = 2;     // steps of the integration for each
constexpr double kCut = 0.381, kBeta = 8.96;

double Window(double x) {
  const double inside = 1 - x * x / (StepKernel::kHalf * StepKernel::kHalf);
  return inside <= 0 ? 0 : std::cyl_bessel_i(0.0, kBeta * std::sqrt(inside));
}

double LowPass(double x) {
  const double phase = 2 * std::numbers::pi * kCut * x;
  return Window(x) * (std::abs(phase) < 1e-9 ? 1 : std::sin(phase) / phase);
}

// Of a function given at steps of `step`, from 0 on, by the trapezoid rule.
std::vector<double> Integral(const std::vector<double>& of, double step) {
  std::vector<double> sum(of.size(), 0.0);
  for (std::size_t i = 1; i < of.size(); ++i) {
    sum[i] = sum[i - 1] + (of[i - 1] + of[i]) / 2 * step;
  }
  return sum;
}

double Jump(int order, double x) {
  double value = 1;
  for (int i = 1; i <= order; ++i) value *= x / i;
  return value;
}

}  // namespace

StepKernel::StepKernel() {
  constexpr double kStep = 1.0 / (kParts * kFine);
  std::vector<double> curve;
  for (int i = 0; i <= kTaps * kParts * kFine; ++i) curve.push_back(LowPass(i * kStep - kHalf));
  const double area = Integral(curve, kStep).back();
  for (double& value : curve) value /= area;
  for (int order = 0; order < kOrders; ++order) {
    curve = Integral(curve, kStep);
    std::vector<Taps>& parts = Nth(at_part_, order);
    for (int part = 0; part <= kParts; ++part) {
      Taps& taps = parts.emplace_back();
      for (int tap = 0; tap < kTaps; ++tap) {
        const double x = static_cast<double>(part) / kParts + tap - kHalf;
        const double through = Nth(curve, (tap * kParts + part) * kFine);
        Nth(taps, tap) = through - (tap < kHalf ? 0 : Jump(order, x));
      }
    }
  }
}

const StepKernel& StepKernel::Get() {
  static const StepKernel kernel;
  return kernel;
}

void StepKernel::AddTo(std::span<double> samples, int order, double jump, double part) const {
  const double place = part * kParts;
  const int at = std::min(static_cast<int>(place), kParts - 1);
  const Taps& low = Nth(Nth(at_part_, order), at);
  const Taps& high = Nth(Nth(at_part_, order), at + 1);
  const double to_high = jump * (place - at), to_low = jump - to_high;
  for (std::size_t tap = 0; tap < kTaps; ++tap) {
    samples[tap] += to_low * low[tap] + to_high * high[tap];
  }
}

}  // namespace drycrank::output
