// SPDX-License-Identifier: Apache-2.0
#include "sensor/pulse.h"

#include <gtest/gtest.h>

#include <numbers>

#include "profile/sensors.h"

namespace drycrank::sensor {
namespace {

// The two published scales, tests/reference/flex_fuel.yaml.
profile::FrequencySensor FuelComposition(double degc_at_5_ms) {
  return {.output = {},
          .hz_at_zero = 50,
          .hz_per_unit = 1,
          .width_stimulus = 1,
          .width_ms_at_low = 1,
          .width_low_degc = -40,
          .width_ms_at_high = 5,
          .width_high_degc = degc_at_5_ms};
}
const profile::FrequencySensor kCommon = FuelComposition(125);
const profile::FrequencySensor kEarly = FuelComposition(95);

// A 1993 factory service manual's flexible-fuel sensor page: percent = hz - 50.
TEST(FuelComposition, FrequencyIsFiftyPlusPercent) {
  for (const auto& [percent, hz] : Points{{0, 50}, {10, 60}, {50, 100}, {85, 135}, {100, 150}}) {
    EXPECT_DOUBLE_EQ(PulseHz(kCommon, percent), hz);
    EXPECT_DOUBLE_EQ(PulseValue(kCommon, hz), percent);
  }
}

// Same file, temperature_table: T = 41.25 ms - 81.25 (common practice) and 33.75 ms - 73.75 (1993).
TEST(FuelComposition, WidthFollowsEitherPublishedScale) {
  const Points common{{1, -40}, {2, 1.25}, {3, 42.5}, {4, 83.75}, {5, 125}};
  const Points early{{1, -40}, {2, -6.25}, {3, 27.5}, {4, 61.25}, {5, 95}};
  for (const auto& [ms, degc] : common) {
    EXPECT_NEAR(PulseLowS(kCommon, 50, degc), ms * 1e-3, 1e-12);
    EXPECT_NEAR(PulseWidthDegc(kCommon, ms * 1e-3), degc, 1e-9);
  }
  for (const auto& [ms, degc] : early) {
    EXPECT_NEAR(PulseLowS(kEarly, 50, degc), ms * 1e-3, 1e-12);
    EXPECT_NEAR(PulseWidthDegc(kEarly, ms * 1e-3), degc, 1e-9);
  }
}

// Same file, table: duty of a 1 ms pulse at 0, 50, 85, 100 %.
TEST(FuelComposition, DutyOfAOneMillisecondPulse) {
  for (const auto& [percent, duty] : Points{{0, 0.05}, {50, 0.10}, {85, 0.135}, {100, 0.15}}) {
    const double hz = PulseHz(kCommon, percent);
    EXPECT_NEAR(PulseLowS(kCommon, hz, -40) * hz, duty, 1e-12);
  }
}

// Same file, pitfall: 5 ms of a period of 6.67 ms leaves 1.67 ms.
TEST(FuelComposition, LongestPulseFitsTheShortestPeriod) {
  EXPECT_NEAR(1.0 / 150 - PulseLowS(kCommon, 150, 125), 1.66667e-3, 1e-8);
}

TEST(FuelComposition, HoldsTheEndsOfItsTemperatureScale) {
  EXPECT_NEAR(PulseLowS(kCommon, 50, -60), 1e-3, 1e-12);
  EXPECT_NEAR(PulseLowS(kCommon, 50, 200), 5e-3, 1e-12);
}

TEST(Pulse, NeverStaysLowForAWholePeriod) {
  EXPECT_NEAR(PulseLowS(kCommon, 1000, 125), 0.98e-3, 1e-12);
}

// tests/reference/wheel_speed_tyre.yaml: 205/55R16 (ISO 4000-1 designation) is 2 * 0.55 * 205 mm +
// 16 * 25.4 mm = 631.9 mm across; a ring of 48 teeth gives 671.646 Hz at 100 km/h.
TEST(WheelSpeed, MeetsTheWorkedExample) {
  const double circumference_m = std::numbers::pi * 0.6319;
  const profile::FrequencySensor ring{
      .output = {}, .hz_at_zero = 0, .hz_per_unit = 48 / (3.6 * circumference_m)};
  EXPECT_NEAR(PulseHz(ring, 100), 671.646, 0.001);
  EXPECT_NEAR(PulseHz(ring, 10), 67.1646, 0.0001);
  EXPECT_NEAR(PulseValue(ring, 671.646), 100, 0.001);
  EXPECT_NEAR(PulseLowS(ring, PulseHz(ring, 100), 0), 0.5 / 671.646, 1e-9);
}

TEST(WheelSpeed, StandingStillHasNoPulses) {
  const profile::FrequencySensor ring{.output = {}, .hz_at_zero = 0, .hz_per_unit = 6.7};
  EXPECT_EQ(PulseHz(ring, 0), 0);
  EXPECT_EQ(PulseHz(ring, -5), 0);
  EXPECT_EQ(PulseLowS(ring, 0, 0), 0);
}

}  // namespace
}  // namespace drycrank::sensor
