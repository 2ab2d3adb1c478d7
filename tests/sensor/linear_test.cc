// SPDX-License-Identifier: Apache-2.0
#include "sensor/linear.h"

#include <gtest/gtest.h>

#include "profile/sensors.h"

namespace drycrank::sensor {
namespace {

using profile::PressureReference;

profile::RatiometricSensor From0To100(double low_fraction = 0.1, double high_fraction = 0.9) {
  profile::RatiometricSensor sensor;
  sensor.low_value = 0;
  sensor.high_value = 100;
  sensor.low_fraction = low_fraction;
  sensor.high_fraction = high_fraction;
  return sensor;
}

profile::SwitchSensor ClosingAt40(bool closed_above) {
  profile::SwitchSensor sensor;
  sensor.closed_at = 40;
  sensor.closed_above = closed_above;
  return sensor;
}

// tests/reference/pressure_sensor.yaml, a distributor's technical note: a 0-100 psi sensor with
// 10 to 90 % of its supply gives 0.5, 2.5, 4.5 V at 5.00 V (and, worked, 95 % of that at 4.75 V).
TEST(Ratiometric, MeetsTheWorkedExampleOfTheTechnicalNote) {
  const profile::RatiometricSensor sensor = From0To100();
  for (const auto& [volts, psi] : Points{{0.5, 0}, {2.5, 50}, {4.5, 100}}) {
    EXPECT_NEAR(5.00 * RatiometricFraction(sensor, psi), volts, 1e-12);
    EXPECT_NEAR(RatiometricValue(sensor, volts / 5.00), psi, 1e-10);
  }
  for (const auto& [volts, psi] : Points{{0.475, 0}, {2.375, 50}, {4.275, 100}}) {
    EXPECT_NEAR(4.75 * RatiometricFraction(sensor, psi), volts, 1e-12);
  }
}

TEST(Ratiometric, SaturatesWhereItsOutputStageDoes) {
  const profile::RatiometricSensor sensor = From0To100();
  EXPECT_DOUBLE_EQ(RatiometricFraction(sensor, 500), 0.98);
  EXPECT_DOUBLE_EQ(RatiometricFraction(sensor, -500), 0.02);
}

TEST(Ratiometric, MayFall) {
  const profile::RatiometricSensor sensor = From0To100(0.9, 0.1);
  EXPECT_NEAR(RatiometricFraction(sensor, 25), 0.7, 1e-12);
  EXPECT_NEAR(RatiometricValue(sensor, 0.7), 25, 1e-10);
}

TEST(Switch, ClosesAtItsPoint) {
  const profile::SwitchSensor above = ClosingAt40(true);
  EXPECT_FALSE(SwitchClosed(above, 39.9));
  EXPECT_TRUE(SwitchClosed(above, 40));
  const profile::SwitchSensor below = ClosingAt40(false);
  EXPECT_TRUE(SwitchClosed(below, 40));
  EXPECT_FALSE(SwitchClosed(below, 40.1));
}

// NIST SP 811 App. B: 1 psi = 6.894757293168361 kPa, so 101.325 kPa = 14.6959487755 psi
// (tests/reference/units.csv, atm to psi).
TEST(ZeroShift, IsTheBarometricPressureInTheUnitAsked) {
  const auto gauge = PressureReference::kGauge;
  const auto absolute = PressureReference::kAbsolute;
  EXPECT_DOUBLE_EQ(ZeroShift(gauge, absolute, 101.325, "kPa"), 101.325);
  EXPECT_NEAR(ZeroShift(gauge, absolute, 101.325, "psi"), 14.6959487755135, 1e-9);
  EXPECT_NEAR(ZeroShift(absolute, gauge, 101.325, "bar"), -1.01325, 1e-12);
  EXPECT_EQ(ZeroShift(gauge, gauge, 101.325, "kPa"), 0);
}

}  // namespace
}  // namespace drycrank::sensor
