// SPDX-License-Identifier: Apache-2.0
#include "plant/plant.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <vector>

#include "profile/sensors.h"
#include "profile/triggers.h"
#include "tests/run/loaded.h"

namespace drycrank::plant {
namespace {

// The hill-climb bench at a fixed speed, with the voltages at the controller's inputs kept.
class PlantTest : public testing::Test, public WaveSink {
 protected:
  void OnWave(int input, const Wave& piece) override { waves_[input].push_back(piece); }
  bool WatchesEmf() const override { return watches_emf_; }

  void Run(double rpm, std::vector<profile::Fault> faults, double seconds = 0.5) {
    profile::Scenario& scenario = *loaded_.scenario;
    scenario.steps.resize(1);
    scenario.steps[0].wait_for.reset();
    scenario.steps[0].drives.resize(1);
    scenario.steps[0].drives[0] = profile::Drive();
    scenario.steps[0].drives[0].to = rpm;
    for (profile::Trigger& trigger : loaded_.bench->triggers) {
      if (auto* coil = std::get_if<profile::VariableReluctancePickup>(&trigger.pickup)) {
        coil->noise_v = noise_v_;
      }
    }
    scenario::Timeline timeline(*loaded_.bench, scenario);
    timeline.BeginStep(0, 0);
    Plant plant(*loaded_.bench, timeline, 1, *this);
    if (!heard_.empty()) plant.HearOnly(heard_);
    for (const int sensor : held_off_) plant.HoldOff(sensor);
    plant.OnStep(0);
    std::vector<const profile::Fault*> in_force;
    for (const profile::Fault& fault : faults) in_force.push_back(&fault);
    plant.SetFaults(0, in_force);
    for (events_ = 0; plant.NextEventNs() < FromSeconds(seconds); ++events_) plant.TakeEvent();
    sampled_.resize(loaded_.bench->controller->inputs.size());
    plant.Sample(FromSeconds(seconds), sampled_);
  }
  int Input(const std::string& terminal) const {
    const auto& inputs = loaded_.bench->controller->inputs;
    for (std::size_t i = 0; i < inputs.size(); ++i) {
      if (inputs[i].terminal == terminal) return static_cast<int>(i);
    }
    return -1;
  }
  double HighestPeak(const std::string& terminal) {
    double highest = 0;
    for (const Wave& piece : waves_[Input(terminal)]) {
      highest = std::max(highest, std::abs(piece.peak_v));
    }
    return highest;
  }
  // Of a switched input, at this many ms.
  double VoltsAt(const std::string& terminal, int ms) {
    double volts = -1;
    for (const Wave& piece : waves_[Input(terminal)]) {
      if (piece.begin_ns <= ms * kNsPerMs) volts = piece.begin_v;
    }
    return volts;
  }
  // Largest less smallest level of a switched input.
  double Swing(const std::string& terminal) {
    double low = 1e9, high = -1e9;
    for (const Wave& piece : waves_[Input(terminal)]) {
      low = std::min(low, piece.begin_v);
      high = std::max(high, piece.begin_v);
    }
    return high - low;
  }

  profile::LoadedScenario loaded_ = run::Shipped("hill_climb/healthy");
  double noise_v_ = 0;
  std::vector<int> heard_, held_off_;
  bool watches_emf_ = true;
  int events_ = 0;
  std::map<int, std::vector<Wave>> waves_;
  std::vector<double> sampled_;
};

profile::Fault Swap(const char* at, const char* with) {
  profile::Fault fault;
  fault.kind = profile::fault::TerminalsSwapped{};
  fault.at = at;
  fault.with = with;
  return fault;
}

// Peak 0.867 V at 200 r/min (tests/reference/crank_cam.yaml, linear in speed: 4.333 V at 1000),
// divided by coil 860 ohm and input 20 kohm, the two 100 kohm bias resistors to ground beside it:
// 20 k || 200 k = 18.18 k; 18.18 / (18.18 + 0.86) = 0.9548 -> 4.137 V.
TEST_F(PlantTest, TheCoilsPeakIsDividedByItsOwnResistance) {
  Run(1000, {});
  EXPECT_NEAR(HighestPeak("ECU.10"), 4.137, 0.02);
}

// 1000 r/min for 0.5 s: 8.33 turns of 58 teeth, two lobes each = 967.
TEST_F(PlantTest, EachToothGivesTwoLobes) {
  Run(1000, {});
  const auto& pieces = waves_[Input("ECU.10")];
  const auto lobes =
      std::count_if(pieces.begin(), pieces.end(), [](const Wave& p) { return p.peak_v != 0; });
  EXPECT_NEAR(static_cast<double>(lobes), 967, 4);
}

TEST_F(PlantTest, SwappedCoilLeadsInvertTheWave) {
  Run(1000, {});
  const double first = std::find_if(waves_[Input("ECU.10")].begin(), waves_[Input("ECU.10")].end(),
                                    [](const Wave& p) { return p.peak_v != 0; })
                           ->peak_v;
  waves_.clear();
  Run(1000, {Swap("CKP.1", "CKP.2")});
  const double swapped =
      std::find_if(waves_[Input("ECU.10")].begin(), waves_[Input("ECU.10")].end(),
                   [](const Wave& p) { return p.peak_v != 0; })
          ->peak_v;
  EXPECT_NEAR(swapped, -first, 1e-6);
}

TEST_F(PlantTest, AHallSensorSwitchesItsInput) {
  Run(1000, {});
  EXPECT_GT(Swing("ECU.12"), 4.5);
}

// The cam's first tooth of 0 to 20 degrees is 0 to 40 of the crank, moved by 20: 20 to 60 after the
// start at 0 degrees. At 1000 r/min, 6 degrees per ms: 3.33 to 10 ms. The next, 70 to 130 of the
// cam, is 160 to 280 of the crank, 26.7 to 46.7 ms.
TEST_F(PlantTest, AHallSensorPullsLowAtATooth) {
  Run(1000, {});
  EXPECT_LT(VoltsAt("ECU.12", 7), 1);
  EXPECT_GT(VoltsAt("ECU.12", 18), 4.5);
  EXPECT_LT(VoltsAt("ECU.12", 40), 1);
}

TEST_F(PlantTest, AHallSensorOfTheOtherPolarityPullsLowBetweenTeeth) {
  std::get<profile::HallPickup>(loaded_.bench->triggers[1].pickup).low_at_tooth = false;
  Run(1000, {});
  EXPECT_GT(VoltsAt("ECU.12", 7), 4.5);
  EXPECT_LT(VoltsAt("ECU.12", 18), 1);
  EXPECT_GT(VoltsAt("ECU.12", 40), 4.5);
}

// Signal and ground swapped: the input is held between 0 V and one diode drop, so it never rises
// to its threshold.
TEST_F(PlantTest, SwappedHallLeadsHoldTheInputLow) {
  Run(1000, {Swap("CMP.2", "CMP.3")});
  for (const Wave& piece : waves_[Input("ECU.12")]) {
    // At 0 the fault is just being put in.
    if (piece.begin_ns > 0) {
      EXPECT_LT(piece.begin_v, 1.5);
    }
  }
}

// A healthy coil's lobes stay half sines, noise or not: nothing else reaches its input.
TEST_F(PlantTest, NoiseDoesNotMakeAHealthyInputASum) {
  noise_v_ = 0.05;
  Run(1000, {}, 2.0);
  const auto& pieces = waves_[Input("ECU.10")];
  EXPECT_TRUE(std::none_of(pieces.begin(), pieces.end(),
                           [](const Wave& p) { return p.end_ns - p.begin_ns == 20 * kNsPerUs; }));
}

// Crank coil and cam signal shorted together: the sum is handed on as straight pieces.
TEST_F(PlantTest, AShortBetweenTwoCircuitsAddsTheirWaves) {
  profile::Fault fault;
  fault.kind = profile::fault::ShortTogether{1};
  fault.at = "ECU.10";
  fault.with = "ECU.12";
  Run(1000, {fault}, 0.2);
  const auto& pieces = waves_[Input("ECU.10")];
  EXPECT_TRUE(std::any_of(pieces.begin(), pieces.end(), [](const Wave& p) {
    return p.peak_v == 0 && p.end_ns - p.begin_ns == 20 * kNsPerUs && p.begin_v != p.end_v;
  }));
}

TEST_F(PlantTest, WhatIsNotHeardIsNotHandedOnAndChangesNothingElse) {
  noise_v_ = 0.05;
  Run(1000, {});
  const auto all = waves_;
  waves_.clear();
  heard_ = {Input("ECU.10")};
  Run(1000, {});
  ASSERT_EQ(waves_.size(), 1u);
  EXPECT_GT(all.size(), 1u);
  const std::vector<Wave>&some = waves_[heard_[0]], &before = all.at(heard_[0]);
  ASSERT_EQ(some.size(), before.size());
  for (std::size_t i = 0; i < some.size(); ++i) {
    EXPECT_EQ(some[i].begin_ns, before[i].begin_ns);
    EXPECT_EQ(some[i].peak_v, before[i].peak_v);
    EXPECT_EQ(some[i].begin_v, before[i].begin_v);
  }
}

// A fuel composition sensor always pulses, 50 Hz and more; held off, its output stays high.
// The crank's 967 lobes of half a second (above) reach ECU.10 alone. The cam's edges stay.
TEST_F(PlantTest, AWheelWhoseCoilNobodyHearsNeedNotTurn) {
  heard_ = {Input("ECU.12")};
  Run(1000, {});
  const int all = events_;
  const double swing = Swing("ECU.12");
  waves_.clear();
  watches_emf_ = false;
  Run(1000, {});
  EXPECT_NEAR(all - events_, 967, 4);
  EXPECT_EQ(Swing("ECU.12"), swing);
  heard_ = {Input("ECU.10"), Input("ECU.12")};
  Run(1000, {});
  EXPECT_EQ(events_, all);
}

TEST_F(PlantTest, AHeldOffSensorRests) {
  Run(0, {});
  EXPECT_GT(Swing("ECU.31"), 4);
  waves_.clear();
  held_off_ = {profile::IndexOf(loaded_.bench->sensors, "fuel")};
  Run(0, {});
  EXPECT_LT(Swing("ECU.31"), 0.1);
}

// NTC at 18 degC would be R = 13,900 ohm or so; the bench starts at 20 degC: the published curve's
// Steinhart-Hart gives 12,491 ohm (1/T = A + B ln R + C ln^3 R at 293.15 K), so
// beside the input's 1 Mohm 12,337 ohm: 5 V * 12337 / (12337 + 2200) = 4.2433 V.
TEST_F(PlantTest, ASensorsVoltageIsThatOfItsDivider) {
  Run(0, {});
  EXPECT_NEAR(sampled_[static_cast<std::size_t>(Input("ECU.20"))], 4.2433, 0.002);
}

// From 20 to 90 degC, where the same curve gives 916 ohm, 915.1 ohm beside the input's 1 Mohm:
// 5 V * 915.1 / (915.1 + 2200) = 1.4688 V, and some millivolts more for what all sensors' current
// makes of the ground wire they share (39 mohm and its contacts, tens of milliampere). By hand, by
// a ramp, and by a fault of the sensor, while all else holds; and back.
TEST_F(PlantTest, ASampleFollowsWhatChangesASensor) {
  constexpr double kColdV = 4.2433, kHotV = 1.4688, kWiresV = 0.005;
  const profile::Bench& bench = *loaded_.bench;
  const profile::Scenario empty;
  scenario::Timeline timeline(bench, empty);
  Plant plant(bench, timeline, 1, *this);
  const int coolant = profile::IndexOf(bench.stimuli, "coolant_temperature");
  const auto set = [&](double degc, double over_s, TimeNs t_ns) {
    timeline.Override(coolant, degc, over_s, t_ns);
    plant.OnStep(t_ns);
  };
  const auto volts_at = [&](TimeNs t_ns) {
    sampled_.resize(bench.controller->inputs.size());
    plant.Sample(t_ns, sampled_);
    return sampled_[static_cast<std::size_t>(Input("ECU.20"))];
  };
  set(20, 0, 0);
  EXPECT_NEAR(volts_at(1 * kNsPerS), kColdV, kWiresV);
  set(90, 0, 1 * kNsPerS);
  EXPECT_NEAR(volts_at(2 * kNsPerS), kHotV, kWiresV);
  set(20, 1, 2 * kNsPerS);
  EXPECT_NEAR(volts_at(2 * kNsPerS), kHotV, kWiresV);
  EXPECT_NEAR(volts_at(3 * kNsPerS), kColdV, kWiresV);
  set(20, 0, 3 * kNsPerS);
  profile::Fault warm;
  warm.kind = profile::fault::SensorOffset{70};
  warm.at = "coolant";
  const profile::Fault* in_force[] = {&warm};
  plant.SetFaults(4 * kNsPerS, in_force);
  EXPECT_NEAR(volts_at(4 * kNsPerS), kHotV, kWiresV);
  plant.SetFaults(5 * kNsPerS, {});
  EXPECT_NEAR(volts_at(5 * kNsPerS), kColdV, kWiresV);
}

TEST_F(PlantTest, MinusZeroIsStandstill) {
  Run(-0.0, {});
  const auto& pieces = waves_[Input("ECU.10")];
  EXPECT_FALSE(
      std::any_of(pieces.begin(), pieces.end(), [](const Wave& p) { return p.peak_v != 0; }));
}

// A speed that no engine has: 10^9 r/min past 58 teeth, two lobes each, are 1.9 edges a nanosecond,
// 1.9 million a millisecond. The synthesis says where it gave up, and goes on in no circle.
TEST_F(PlantTest, EventsWithoutEndAreGivenUp) {
  scenario::Timeline timeline(*loaded_.bench, *loaded_.scenario);
  timeline.Override(0, 1e9, 0, 0);
  Plant plant(*loaded_.bench, timeline, 1, *this);
  plant.OnStep(0);
  plant.SetFaults(0, {});
  int taken = 0;
  for (; taken < 700'000 && plant.NextEventNs() < 2 * kNsPerMs; ++taken) plant.TakeEvent();
  EXPECT_EQ(taken, StepGuard::kMostPerMs + 1);
  EXPECT_LT(plant.stuck_ns(), kNsPerMs);
  EXPECT_EQ(plant.NextEventNs(), kNever);
}

TEST(StepGuard, AMillisecondHasABound) {
  StepGuard guard;
  for (int i = 0; i < StepGuard::kMostPerMs; ++i) ASSERT_TRUE(guard.Admit(7));
  EXPECT_FALSE(guard.Admit(7));
  EXPECT_FALSE(guard.Admit(7 + kNsPerMs - 8));
  EXPECT_TRUE(guard.Admit(7 + kNsPerMs));
}

}  // namespace
}  // namespace drycrank::plant
