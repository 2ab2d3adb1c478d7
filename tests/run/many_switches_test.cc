// SPDX-License-Identifier: Apache-2.0
//
// More switching outputs than an integer has bits: each of 70 pulse sensors, all at other
// frequencies, must arrive at its own input and nowhere else.
#include <gtest/gtest.h>

#include <vector>

#include "plant/plant.h"
#include "profile/sensors.h"
#include "tests/support/pulse_bench.h"

namespace drycrank::run {
namespace {

constexpr int kSensors = 70;
constexpr double kSeconds = 0.5;

double HzOf(int sensor) { return 101 + 10 * sensor; }

class Falls : public plant::WaveSink {
 public:
  void OnWave(int input, const Wave& piece) override {
    const auto i = static_cast<std::size_t>(input);
    const bool low = piece.begin_v < 2.5;
    if (low && !was_low_[i]) ++count_[i];
    was_low_[i] = low;
  }
  int count(int input) const { return count_[static_cast<std::size_t>(input)]; }

 private:
  std::vector<bool> was_low_ = std::vector<bool>(kSensors, true);
  std::vector<int> count_ = std::vector<int>(kSensors);
};

TEST(ManySwitches, EachArrivesAtItsOwnInput) {
  profile::Bench bench = support::PulseBench(kSensors);
  for (int i = 0; i < kSensors; ++i) {
    const auto s = static_cast<std::size_t>(i);
    bench.stimuli[1 + s].initial = HzOf(i);
    bench.sensors[s].max = 1e6;
  }
  profile::Scenario scenario;
  scenario.steps.resize(1);
  scenario.steps[0].for_s = kSeconds;
  scenario::Timeline timeline(bench, scenario);
  timeline.BeginStep(0, 0);
  Falls falls;
  plant::Plant plant(bench, timeline, 1, falls);
  plant.OnStep(0);
  plant.SetFaults(0, {});
  while (plant.NextEventNs() < FromSeconds(kSeconds)) plant.TakeEvent();
  for (int i = 0; i < kSensors; ++i) {
    EXPECT_NEAR(falls.count(i), HzOf(i) * kSeconds, 1.01) << "sensor " << i;
  }
}

}  // namespace
}  // namespace drycrank::run
