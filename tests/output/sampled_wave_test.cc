// SPDX-License-Identifier: Apache-2.0
//
// Samples against what theory says of the same curve: a square wave's Fourier series, a sine, a line.
#include "output/sampled_wave.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

namespace drycrank::output {
namespace {

constexpr int kRate = 48'000;

std::vector<double> SamplesOf(const std::vector<Wave>& waves, TimeNs end_ns, int rate_hz = kRate) {
  SampledWave sampled(rate_hz);
  std::vector<double> samples;
  const auto take = [&](TimeNs known_ns) {
    for (const auto settled = sampled.Know(known_ns); sampled.taken() < settled;) {
      samples.push_back(sampled.Next());
    }
  };
  for (const Wave& wave : waves) {
    sampled.Add(wave);
    take(wave.begin_ns);
  }
  take(end_ns);
  return samples;
}

Wave Level(double t_s, double volts) { return {FromSeconds(t_s), kNever, volts, volts, 0}; }

// Where the line between samples crosses `level`, in samples.
std::vector<double> Crossings(const std::vector<double>& samples, double level) {
  std::vector<double> at;
  for (std::size_t i = 1; i < samples.size(); ++i) {
    const double a = samples[i - 1] - level, b = samples[i] - level;
    if ((a < 0) != (b < 0)) at.push_back(static_cast<double>(i - 1) + a / (a - b));
  }
  return at;
}

// Of one frequency, as a fraction of the rate, over all samples.
double Amplitude(const std::vector<double>& samples, double frequency) {
  std::complex<double> sum = 0;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const double phase = -2 * std::numbers::pi * frequency * static_cast<double>(i);
    sum += samples[i] * std::polar(1.0, phase);
  }
  return 2 * std::abs(sum) / static_cast<double>(samples.size());
}

TEST(SampledWave, ALevelStaysALevel) {
  for (const double v : SamplesOf({Level(0, 3.3)}, kNsPerS / 100)) EXPECT_EQ(v, 3.3);
}

TEST(SampledWave, AStepIsHalfWayAtItsOwnTime) {
  for (double part = 0; part < 1; part += 0.0625) {
    const double at = 100 + part;
    const auto samples = SamplesOf({Level(0, 0), Level(at / kRate, 5)}, kNsPerS / 100);
    const auto crossings = Crossings(samples, 2.5);
    ASSERT_EQ(crossings.size(), 1U);
    EXPECT_NEAR(crossings[0], at, 0.035) << part;  // the line between two samples alone
    EXPECT_NEAR(samples[80], 0, 1e-9);
    EXPECT_NEAR(samples[130], 5, 1e-9);
  }
}

// A lobe of 1 ms that ended 480,000 samples ago is the level that it left, and touches no sample before.
TEST(SampledWave, WhatEndedLongAgoIsItsLastLevel) {
  SampledWave sampled(kRate);
  sampled.Restart(10 * kRate);
  sampled.Add({0, kNsPerMs, 0, 1.5, 4});
  const auto settled = sampled.Know(11 * kNsPerS);
  while (sampled.taken() < settled) ASSERT_EQ(sampled.Next(), 1.5);
}

TEST(SampledWave, ALineStaysALine) {
  const auto samples = SamplesOf({{0, kNsPerS, 0, 10, 0}}, kNsPerS / 10);
  for (std::size_t i = 0; i < samples.size(); ++i) {
    EXPECT_NEAR(samples[i], 10.0 * static_cast<double>(i) / kRate, 1e-12);
  }
}

// Half sines, one up, one down, are a sine: at a tenth of the rate, with begins off the samples.
TEST(SampledWave, HalfSinesAreASine) {
  std::vector<Wave> waves;
  const double half_s = 5.0 / kRate;
  for (int i = 0; i < 200; ++i) {
    waves.push_back(
        {FromSeconds(i * half_s), FromSeconds((i + 1) * half_s), 0, 0, i % 2 == 0 ? 2.0 : -2.0});
  }
  const auto samples = SamplesOf(waves, FromSeconds(190 * half_s));
  ASSERT_GT(samples.size(), 900U);
  for (std::size_t i = 50; i < samples.size(); ++i) {
    EXPECT_NEAR(samples[i], 2 * std::sin(std::numbers::pi * static_cast<double>(i) / 5), 4e-4);
  }
}

// 1001 periods in 12,000 samples: each harmonic above half the rate folds to a frequency of its own, which no harmonic below has.
TEST(SampledWave, WhatTheRateCannotCarryIs80DecibelDown) {
  const double periods = 1001, count = 12'000;
  const double period_s = count / periods / kRate;
  std::vector<Wave> waves;
  for (int i = 0; i < 1400; ++i) {
    waves.push_back(Level(i * period_s, 1));
    waves.push_back(Level((i + 0.4) * period_s, -1));
  }
  auto samples = SamplesOf(waves, FromSeconds(1350 * period_s));
  samples.erase(samples.begin(), samples.begin() + 1000);
  ASSERT_GE(samples.size(), 12'000U);
  samples.resize(12'000);
  const double base = periods / count;
  const double carrier = Amplitude(samples, base);
  // Fourier series of a pulse train, duty 0.4: (4/pi) sin(0.4 pi) of the first.
  EXPECT_NEAR(carrier, 4 / std::numbers::pi * std::sin(0.4 * std::numbers::pi), 1e-3);
  for (int k = 6; k <= 60; ++k) {
    const double folded = std::abs(base * k - std::round(base * k));
    if (folded < 1e-9) continue;
    EXPECT_LT(20 * std::log10(Amplitude(samples, folded) / carrier), -80) << k;
  }
}

// The same by points alone: the reason for all this.
TEST(SampledWave, PointsAloneWouldFold) {
  std::vector<double> points;
  for (int i = 0; i < 12'000; ++i) {
    const double phase = std::fmod(i * 1001.0 / 12'000, 1);
    points.push_back(phase < 0.4 ? 1 : -1);
  }
  double worst = 0;
  for (int k = 6; k <= 60; ++k) {
    const double folded = std::abs(1001.0 / 12'000 * k - std::round(1001.0 / 12'000 * k));
    worst = std::max(worst, Amplitude(points, folded));
  }
  EXPECT_GT(20 * std::log10(worst / Amplitude(points, 1001.0 / 12'000)), -30);
}

}  // namespace
}  // namespace drycrank::output
