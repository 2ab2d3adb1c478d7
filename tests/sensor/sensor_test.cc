// SPDX-License-Identifier: Apache-2.0
#include "sensor/sensor.h"

#include <gtest/gtest.h>

#include "profile/sensors.h"
#include "types/unit.h"

namespace drycrank::sensor {
namespace {

constexpr double kBarometricKpa = 101.325;  // standard atmosphere, NIST SP 811

profile::Stimulus Measured(const char* unit) {
  profile::Stimulus stimulus;
  stimulus.unit = unit;
  return stimulus;
}

profile::Sensor Make(double min, double max, profile::SensorModel model) {
  profile::Sensor sensor;
  sensor.min = min;
  sensor.max = max;
  sensor.model = std::move(model);
  return sensor;
}

void ExpectThereAndBack(const profile::Sensor& sensor, const profile::Stimulus& stimulus,
                        double tolerance) {
  for (int i = 0; i <= 200; ++i) {
    const double value = sensor.min + (sensor.max - sensor.min) * i / 200;
    const Source electrical = ToSource(sensor, stimulus, value, kBarometricKpa);
    EXPECT_NEAR(FromSource(sensor, stimulus, electrical, kBarometricKpa), value, tolerance);
  }
}

void ExpectHeld(const profile::Sensor& sensor, const profile::Stimulus& stimulus) {
  const auto at = [&](double value) { return ToSource(sensor, stimulus, value, 100); };
  const double beyond = sensor.max - sensor.min;
  EXPECT_EQ(at(sensor.max + beyond).value, at(sensor.max).value);
  EXPECT_EQ(at(sensor.max + beyond).hz, at(sensor.max).hz);
  EXPECT_EQ(at(sensor.min - beyond).value, at(sensor.min).value);
  EXPECT_EQ(at(sensor.min - beyond).hz, at(sensor.min).hz);
}

profile::PlatinumSensor Pt100() {
  profile::PlatinumSensor model;
  model.r0_ohm = 100;
  return model;
}
profile::NtcSensor Ntc() {
  return {.plus = "T.1", .minus = "T.2", .curve = profile::BetaNtc{10000, 3977}};
}
profile::RatiometricSensor Absolute400Kpa() {
  profile::RatiometricSensor model;
  model.high_value = 400;
  return model;
}

TEST(Sensor, EveryModelComesBack) {
  const profile::Stimulus degc = Measured("degC");
  ExpectThereAndBack(Make(-40, 150, Ntc()), degc, 1e-9);
  ExpectThereAndBack(Make(-200, 850, Pt100()), degc, 1e-9);
  ExpectThereAndBack(Make(-200, 1372, profile::TypeKSensor{}), degc, 1e-9);
  ExpectThereAndBack(Make(0, 400, Absolute400Kpa()), Measured("kPa"), 1e-9);
  profile::VoltageSensor voltage;
  voltage.volts_at_value = {{0, 0.2}, {50, 3}, {100, 4.8}};
  ExpectThereAndBack(Make(0, 100, voltage), Measured("%"), 1e-9);
  profile::FrequencySensor frequency;
  frequency.hz_per_unit = 6.716;
  ExpectThereAndBack(Make(0, 300, frequency), Measured("km/h"), 1e-9);
}

TEST(Sensor, EveryModelHoldsTheEndsOfItsRange) {
  const profile::Stimulus degc = Measured("degC");
  ExpectHeld(Make(-40, 150, Ntc()), degc);
  ExpectHeld(Make(-50, 400, Pt100()), degc);
  ExpectHeld(Make(0, 1200, profile::TypeKSensor{}), degc);
  ExpectHeld(Make(20, 300, Absolute400Kpa()), Measured("kPa"));
  profile::FrequencySensor frequency;
  ExpectHeld(Make(0, 100, frequency), Measured("%"));
  const Source open{.value = 10e6};
  EXPECT_EQ(FromSource(Make(-40, 150, Ntc()), degc, open, 100), -40);
  EXPECT_EQ(FromSource(Make(-40, 150, Ntc()), degc, Source{.value = 0}, 100), 150);
}

// 212 degF = 100 degC (NIST SP 811); IEC 60751: 138.51 ohm.
TEST(Sensor, TemperatureMayBeInAnyUnit) {
  const profile::Sensor sensor = Make(-58, 752, Pt100());
  const profile::Stimulus degf = Measured("degF");
  EXPECT_NEAR(ToSource(sensor, degf, 212, kBarometricKpa).value, 138.51, 0.005);
  EXPECT_NEAR(FromSource(sensor, degf, {.value = 138.5055}, kBarometricKpa), 212, 1e-3);
}

// Common practice: 25 psi of boost is above the atmosphere. 25 * 6.894757 + 101.325 = 273.694 kPa;
// 0.1 + 0.8 * 273.694 / 400 = 0.647388.
TEST(Sensor, TwentyFivePsiOfBoostAre273Point7KpaAbsolute) {
  profile::Stimulus boost = Measured("kPa");
  boost.reference = profile::PressureReference::kGauge;
  const profile::Sensor sensor = Make(-101.325, 298.675, Absolute400Kpa());
  const double boost_kpa = *Convert(25, "psi", "kPa");
  const Source electrical = ToSource(sensor, boost, boost_kpa, kBarometricKpa);
  EXPECT_EQ(electrical.kind, SourceKind::kSupplyFraction);
  EXPECT_NEAR((electrical.value - 0.1) / 0.8 * 400, 273.7, 0.05);
  EXPECT_NEAR(electrical.value, 0.647388, 1e-6);
  EXPECT_NEAR(FromSource(sensor, boost, electrical, kBarometricKpa), boost_kpa, 1e-9);
}

// The same with stimulus and sensor in psi: 400 kPa = 58.01510 psi.
TEST(Sensor, BoostInPsiGivesTheSameFraction) {
  profile::Stimulus boost = Measured("psi");
  boost.reference = profile::PressureReference::kGauge;
  profile::RatiometricSensor model;
  model.high_value = 58.0150951;
  const profile::Sensor sensor = Make(-14.69, 43, model);
  EXPECT_NEAR(ToSource(sensor, boost, 25, kBarometricKpa).value, 0.647388, 1e-6);
}

// On a mountain, 80 kPa: the same boost is 172.369 + 80 = 252.369 kPa absolute.
TEST(Sensor, BoostFollowsTheBarometer) {
  profile::Stimulus boost = Measured("kPa");
  boost.reference = profile::PressureReference::kGauge;
  const profile::Sensor sensor = Make(-80, 298, Absolute400Kpa());
  const double fraction = ToSource(sensor, boost, 172.3689, 80).value;
  EXPECT_NEAR((fraction - 0.1) / 0.8 * 400, 252.369, 1e-3);
}

// NIST ITS-90: 100 degC is 4.096 mV, 25 degC is 1.000 mV, both printed to 0.001 mV.
TEST(Sensor, ThermocoupleLosesTheColdJunction) {
  profile::TypeKSensor model;
  model.cold_junction_degc = 25;
  const Source e = ToSource(Make(-200, 1372, model), Measured("degC"), 100, kBarometricKpa);
  EXPECT_EQ(e.kind, SourceKind::kVoltage);
  EXPECT_NEAR(e.value, 3.096e-3, 1e-6);
}

TEST(Sensor, SwitchIsAResistance) {
  profile::SwitchSensor model;
  model.closed_at = 40;
  model.closed_above = false;
  const profile::Sensor sensor = Make(0, 1000, model);
  const profile::Stimulus kpa = Measured("kPa");
  const Source closed = ToSource(sensor, kpa, 0, kBarometricKpa);
  EXPECT_EQ(closed.kind, SourceKind::kResistance);
  EXPECT_DOUBLE_EQ(closed.value, 0.1);
  EXPECT_DOUBLE_EQ(ToSource(sensor, kpa, 300, kBarometricKpa).value, 10e6);
  EXPECT_DOUBLE_EQ(FromSource(sensor, kpa, closed, kBarometricKpa), 40);
}

// tests/reference/flex_fuel.yaml: 85 % is 135 Hz; 2 ms is 1.25 degC on the common scale.
TEST(Sensor, FuelCompositionHasTwoQuantitiesInOneSignal) {
  profile::FrequencySensor model;
  model.hz_at_zero = 50;
  model.width_stimulus = 3;
  const Source e = ToSource(Make(0, 100, model), Measured("%"), 85, kBarometricKpa, 1.25);
  EXPECT_EQ(e.kind, SourceKind::kPulses);
  EXPECT_DOUBLE_EQ(e.hz, 135);
  EXPECT_NEAR(e.low_s, 2e-3, 1e-12);
}

}  // namespace
}  // namespace drycrank::sensor
