// SPDX-License-Identifier: Apache-2.0
#include "output/steps.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <utility>

namespace drycrank::output {
namespace {

// A DAC of 12 bits and 2.5 V: 2500 mV / 4096 = 0.6103515625 mV, as its kernel driver states it.
const Steps kDac{0.6103515625e-3, 0, 0, 4095};
// 10 kOhm in 128 steps of 78.125 ohm, 75 ohm of wiper (0.96 of a step).
const Steps kPotentiometer{78.125, 0.96, 0, 128};

// tests/reference/temp_ntc.yaml, ntc_10k_curve, two rows; between them by their own B value,
// B = ln(3601.04 / 1070.45) / (1 / 323.15 - 1 / 358.15) = 4011.6 K (IEC 60539-1).
double Thermistor(double t_c) {
  const double b_k = std::log(3601.04 / 1070.45) / (1 / 323.15 - 1 / 358.15);
  return 3601.04 * std::exp(b_k * (1 / (t_c + 273.15) - 1 / 323.15));
}

TEST(Steps, AVoltageIsTheNearestCount) {
  EXPECT_EQ(kDac.Nearest(0), 0);
  EXPECT_EQ(kDac.Nearest(1.25), 2048);
  EXPECT_EQ(kDac.Nearest(0.00091), 1);  // 1.49 steps
  EXPECT_EQ(kDac.Nearest(0.00092), 2);  // 1.51 steps
  EXPECT_DOUBLE_EQ(kDac.ValueOf(2048), 1.25);
}

TEST(Steps, BeyondTheEndsItIsTheLastOne) {
  EXPECT_EQ(kDac.Nearest(-1), 0);
  EXPECT_EQ(kDac.Nearest(5), 4095);
  EXPECT_NEAR(kDac.MostValue(), 2.4994, 0.0001);
}

TEST(Steps, MeasuredAtBothEndsTheyLieBetween) {
  const Steps steps = StepsBetween(0.02, 5.12, 0, 255);  // 5.1 V in 255 steps: 20 mV
  EXPECT_NEAR(steps.ValueOf(0), 0.02, 1e-12);
  EXPECT_NEAR(steps.ValueOf(255), 5.12, 1e-12);
  EXPECT_EQ(steps.Nearest(2.52), 125);  // 2.5 / 0.02
}

TEST(Steps, ACurrentThatFallsWithItsCountIsFound) {
  const Steps steps = StepsBetween(1, -1, 0, 200);
  EXPECT_EQ(steps.Nearest(0.5), 50);
  EXPECT_DOUBLE_EQ(steps.LeastValue(), -1);
  EXPECT_DOUBLE_EQ(steps.MostValue(), 1);
}

// At 60 degC by hand: R = 2480.9 ohm; dR/dT = B R / T^2 = 4011.6 * 2480.9 / 333.15^2 = 89.67 ohm/K;
// 78.125 ohm are 0.871 K. At 40 degC a step is 0.38 K, so the widest one is at the hot end.
TEST(BandOf, AThermistorsStepsAreWidestWhereItIsHot) {
  const GivenBand band = BandOf(kPotentiometer, 40, 60, Thermistor);
  EXPECT_TRUE(band.reaches);
  EXPECT_NEAR(band.widest_step, 0.871, 0.03);
  EXPECT_NEAR(band.worst_error, 0.871 / 2, 0.03);
}

TEST(BandOf, IsSaidInTheUnitThatPeopleRead) {
  EXPECT_EQ(Words({true, 0.871, 0.4355}, 40, 60, "degC"),
            "between 40 and 60 °C: steps of 0.87 °C, 0.44 °C off at most");
}

// Rows of the same table as published: 0 degC 32650.9, 1 degC 31030.8 ohm, 1620.1 ohm/K between them.
// 100 kOhm in 256 steps of 390.625 ohm: 0.241 K on the average.
TEST(BandOf, BetweenTwoPublishedRowsTheStepsAreTheirShare) {
  const Steps steps{390.625, 0, 0, 256};
  const auto table = [](double t_c) { return 32650.9 * std::pow(31030.8 / 32650.9, t_c); };
  const GivenBand band = BandOf(steps, 0, 1, table);
  EXPECT_GE(band.widest_step, 390.625 / 1620.1);
  EXPECT_LE(band.widest_step, 390.625 / 1620.1 * 1.05);
}

// 0.5 to 4.5 V over 10 bar: 2.5 bar/V; of 0.61 mV a step 1.53 mbar, half of it off.
TEST(BandOf, OnAStraightLineAllStepsAreAlike) {
  const GivenBand band = BandOf(kDac, 0, 4, [](double bar) { return 0.5 + 0.4 * bar; });
  EXPECT_TRUE(band.reaches);
  EXPECT_NEAR(band.widest_step, 1.526e-3, 1e-6);
  EXPECT_LE(band.worst_error, 0.763e-3 + 1e-6);
  EXPECT_GE(band.worst_error, 0.7e-3);
}

// 0.5 to 4.5 V over 100 %, and nothing beyond. 10 V in 32,767 steps are 0.3052 mV, of 40 mV/% 0.00763 %. 0.5 V
// is count 1638.35: its nearest one lies where the sensor does not go.
TEST(BandOf, WhereTheSensorEndsNoStepReachesBeyond) {
  const Steps steps = StepsBetween(0, 10, 0, 32767);
  const auto throttle = [](double percent) { return 0.5 + 0.04 * std::clamp(percent, 0.0, 100.0); };
  for (const auto& [from, to] : {std::pair{0.0, 30.0}, std::pair{60.0, 100.0}, std::pair{0.0, 100.0}}) {
    const GivenBand band = BandOf(steps, from, to, throttle);
    EXPECT_TRUE(band.reaches);
    EXPECT_NEAR(band.widest_step, 0.00763, 0.00001) << from;
    EXPECT_LE(band.worst_error, 0.00763 / 2 + 0.00001) << from;
  }
}

TEST(BandOf, WhatLiesBeyondTheLastStepIsNotReached) {
  const GivenBand band = BandOf(kDac, 0, 10, [](double bar) { return 0.5 + 0.4 * bar; });
  EXPECT_FALSE(band.reaches);
  EXPECT_NEAR(band.worst_error, 10 - (2.4994 - 0.5) / 0.4, 0.001);
  EXPECT_EQ(Words(band, 0, 10, "bar"), "between 0 and 10 bar: not all of it can be given");
}

}  // namespace
}  // namespace drycrank::output
