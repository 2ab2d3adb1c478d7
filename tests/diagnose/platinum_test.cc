// SPDX-License-Identifier: Apache-2.0
//
// A platinum sensor with the limits of the standard's table, -200 to 850 °C, on a bench that uses
// -40 to 140 °C of it. IEC 60751: 1000 ohm at 0 °C, 1385.1 at 100 °C; class B is 0.8 °C at 100 °C. Ten
// degrees more are no tolerance of such a part. The bench is the hill climber's with this sensor and a
// table for it by hand: 5 V x 1000 / 3200 = 1.5625 V, 5 V x 1385.1 / 3585.1 = 1.9317 V.
#include <gtest/gtest.h>

#include "profile/load.h"
#include "tests/diagnose/walked.h"

namespace drycrank::diagnose {
namespace {

profile::Bench WithPlatinum() {
  profile::Bench bench = *profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/hill_climb.yaml").bench;
  for (profile::Sensor& sensor : bench.sensors) {
    const auto* ntc = std::get_if<profile::NtcSensor>(&sensor.model);
    if (ntc == nullptr || ntc->plus != "CLT.1") continue;
    profile::PlatinumSensor platinum;
    platinum.r0_ohm = 1000;
    platinum.plus = ntc->plus, platinum.minus = ntc->minus;
    sensor.model = platinum;
    sensor.min = -200, sensor.max = 850;
  }
  for (profile::AnalogChannel& channel : bench.controller->analog) {
    if (channel.terminal != "ECU.20") continue;
    const double slope = 100 / (1.9317 - 1.5625);
    channel.value_at_volts = {{1.0, slope * (1.0 - 1.5625)}, {2.6, slope * (2.6 - 1.5625)}};
  }
  return bench;
}

TEST(Platinum, TenDegreesOfSeriesOhmsAreNotItsTolerance) {
  Walked walked(WithPlatinum());
  profile::Fault series;
  series.kind = profile::fault::SeriesResistance{40};  // 3.85 ohm a degree
  series.at = "CLT.1";
  Hypothesis truth;
  truth.faults = {series};
  const Observation observed = walked.Observe(truth.faults, 0);
  Predictor predictor(walked.bench(), walked.situations());
  const Diagnosis diagnosis = Ranker(walked.bench(), predictor).Rank(observed);
  EXPECT_FALSE(diagnosis.healthy);
  ASSERT_FALSE(diagnosis.groups.empty());
  EXPECT_TRUE(Holds(diagnosis.groups[0], truth));
}

}  // namespace
}  // namespace drycrank::diagnose
