// SPDX-License-Identifier: Apache-2.0
//
// Every file of profiles/parts/sensors, loaded as a bench includes it, against published values of
// the curve it names (tests/reference, sources there) or values worked by hand.
#include <gtest/gtest.h>

#include <filesystem>

#include "profile/load.h"
#include "profile/sensors.h"
#include "sensor/sensor.h"

namespace drycrank::sensor {
namespace {

class SensorParts : public testing::Test {
 protected:
  SensorParts() : loaded_(profile::LoadBench(DRYCRANK_TESTS_DIR "/sensor/parts_bench.yaml")) {
    for (const Diagnostic& problem : loaded_.problems) ADD_FAILURE() << Format(problem);
  }

  Source At(const std::string& part, double value, double width_degc = 20) const {
    if (!loaded_.bench) return {.value = -1, .hz = -1, .low_s = -1};
    const profile::Bench& bench = *loaded_.bench;
    const int at = profile::IndexOf(bench.sensors, part);
    EXPECT_GE(at, 0) << part;
    if (at < 0) return {.value = -1, .hz = -1, .low_s = -1};
    const profile::Sensor& sensor = bench.sensors[static_cast<std::size_t>(at)];
    const auto& stimulus = bench.stimuli[static_cast<std::size_t>(sensor.stimulus)];
    return ToSource(sensor, stimulus, value, bench.barometric_pressure_kpa, width_degc);
  }

  profile::LoadedBench loaded_;
};

TEST_F(SensorParts, AllAreInTheTestBench) {
  ASSERT_TRUE(loaded_.bench);
  std::size_t files = 0;
  for (const auto& file :
       std::filesystem::directory_iterator(DRYCRANK_PROFILES_DIR "/parts/sensors")) {
    EXPECT_GE(profile::IndexOf(loaded_.bench->sensors, file.path().stem().string()), 0)
        << file.path() << " is not in parts_bench.yaml";
    ++files;
  }
  EXPECT_EQ(loaded_.bench->sensors.size(), files);
}

TEST_F(SensorParts, ThermistorsMeetTheirTables) {
  EXPECT_NEAR(At("ntc_10k_curve", -15).value, 72911.1, 5);  // printed row; 0.001 degC
  EXPECT_NEAR(At("ntc_10k_curve", 100).value, 678.42, 0.05);
  EXPECT_NEAR(At("ntc_10k_table", -20).value, 97006.9, 0.01);
  EXPECT_NEAR(At("ntc_10k_table", -15).value, 72911.1, 40);  // between its points, 0.01 degC
  EXPECT_NEAR(At("ntc_beta_3977", 85).value, 1070.31, 0.01);
}

TEST_F(SensorParts, PlatinumAndThermocoupleMeetTheStandards) {
  EXPECT_NEAR(At("pt100", 100).value, 138.51, 0.005);
  EXPECT_NEAR(At("pt1000", 100).value, 1385.1, 0.05);
  // 41.276 mV at 1000 degC less 1.000 mV at 25 degC.
  EXPECT_NEAR(At("type_k", 1000).value, 40.276e-3, 1e-6);
}

// 25 psi = 172.369 kPa of boost is 273.694 kPa absolute: 0.1 + 0.8 * 273.694 / 400 = 0.647388.
TEST_F(SensorParts, ManifoldPressureIsAbsolute) {
  EXPECT_NEAR(At("map_absolute_400kpa", 172.369).value, 0.647388, 1e-6);
  EXPECT_NEAR(At("map_absolute_400kpa", -101.325).value, 0.1, 1e-9);
}

TEST_F(SensorParts, StraightOnesMeetTheirEnds) {
  EXPECT_NEAR(At("pressure_gauge_10bar", 1000).value, 0.9, 1e-12);
  EXPECT_NEAR(At("pressure_gauge_10bar", 250).value, 0.3, 1e-12);
  EXPECT_NEAR(At("throttle_position", 50).value, 0.5, 1e-12);
  EXPECT_NEAR(At("tank_level_voltage", 25).value, 2.0, 1e-12);
  EXPECT_DOUBLE_EQ(At("oil_pressure_switch", 39).value, 0.1);  // 0.4 bar = 40 kPa
  EXPECT_DOUBLE_EQ(At("oil_pressure_switch", 41).value, 10e6);
}

TEST_F(SensorParts, PulsesMeetTheirPublishedFrequencies) {
  EXPECT_NEAR(At("wheel_speed_48_205_55r16", 100).hz, 671.646, 0.001);
  EXPECT_DOUBLE_EQ(At("fuel_composition_common", 85).hz, 135);
  EXPECT_NEAR(At("fuel_composition_common", 85, 42.5).low_s, 3e-3, 1e-12);
  EXPECT_NEAR(At("fuel_composition_early", 85, 27.5).low_s, 3e-3, 1e-12);
}

}  // namespace
}  // namespace drycrank::sensor
