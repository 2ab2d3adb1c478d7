// SPDX-License-Identifier: Apache-2.0
//
// Volts and pulses to values. Ratiometric pressure: tests/reference/pressure_sensor.yaml
// (example_0_100_psi, supply_4V75). Fuel composition: tests/reference/flex_fuel.yaml.
#include "standin/conversion.h"

#include <gtest/gtest.h>

#include <cmath>

#include "standin/controller.h"

namespace drycrank::standin {
namespace {

profile::AnalogChannel Pressure() {
  profile::AnalogChannel channel;
  channel.name = "fuel_pressure";
  channel.terminal = "ECU.1";
  channel.value_at_volts = {{0.5, 0}, {4.5, 100}};  // V -> psi
  channel.low_v = 0.25;                             // common practice, from memory
  channel.high_v = 4.75;
  channel.fallback = 42;
  return channel;
}

profile::Bench BenchWith(const profile::AnalogChannel& channel) {
  profile::Bench bench;
  bench.controller.emplace();
  profile::Controller& controller = *bench.controller;
  controller.inputs.resize(1);
  controller.inputs[0].terminal = "ECU.1";
  controller.references.resize(1);
  controller.triggers.resize(1);
  controller.analog = {channel};
  return bench;
}

// A controller with one analogue channel, sampled every 10 ms.
class Sampled {
 public:
  explicit Sampled(const profile::AnalogChannel& channel)
      : bench_(BenchWith(channel)), controller(bench_) {}

  void Sample(double volts, double reference_v = 5, double supply_v = 12) {
    controller.OnSample(t_ns_, std::span(&volts, 1), supply_v, std::span(&reference_v, 1));
    t_ns_ += 10 * kNsPerMs;
  }
  double value() const { return controller.Value(controller.ValueIndex("fuel_pressure")); }
  double fault() const { return controller.Value(controller.ValueIndex("fuel_pressure.fault")); }

 private:
  profile::Bench bench_;
  TimeNs t_ns_ = 0;

 public:
  Controller controller;
};

TEST(Analog, ReadsThePublishedPressures) {
  Sampled sampled(Pressure());
  for (const auto& [volts, psi] : {std::pair{0.5, 0.0}, {2.5, 50.0}, {4.5, 100.0}}) {
    sampled.Sample(volts);
    EXPECT_NEAR(sampled.value(), psi, 1e-9);
  }
}

// The fallback of 42 stays where nobody asks; the twin: asked for, it is read.
TEST(Analog, AnInputThatNobodyAsksForIsNotConverted) {
  Sampled unasked(Pressure()), asked(Pressure());
  unasked.controller.ConvertOnly({});
  asked.controller.ConvertOnly(std::vector<int>{0});
  unasked.Sample(2.5);
  asked.Sample(2.5);
  EXPECT_EQ(unasked.value(), 42);
  EXPECT_NEAR(asked.value(), 50, 1e-9);
}

TEST(Analog, RatiometricReadsTheSameAtALowReference) {
  Sampled sampled(Pressure());
  profile::AnalogChannel absolute = Pressure();
  absolute.ratiometric = false;
  Sampled twin(absolute);
  for (const auto& [volts, psi] : {std::pair{0.475, 0.0}, {2.375, 50.0}, {4.275, 100.0}}) {
    sampled.Sample(volts, 4.75);
    EXPECT_NEAR(sampled.value(), psi, 1e-9);
  }
  twin.Sample(2.375, 4.75);
  EXPECT_NEAR(twin.value(), (2.375 - 0.5) / 4 * 100, 1e-9);  // 46.875: the error it spares
}

TEST(Analog, HoldsTheTableEndsOutside) {
  Sampled sampled(Pressure());
  sampled.Sample(0.3);
  EXPECT_EQ(sampled.value(), 0);
  sampled.Sample(4.7);
  EXPECT_EQ(sampled.value(), 100);
}

TEST(Analog, SignalLowFallsBackAfterItsDelayOnly) {
  Sampled sampled(Pressure());
  sampled.Sample(2.5);
  for (int i = 0; i < 10; ++i) {  // 0 to 90 ms of 100
    sampled.Sample(0.1);
    EXPECT_EQ(sampled.fault(), 0);
    EXPECT_EQ(sampled.value(), 50);  // held
  }
  sampled.Sample(0.1);
  EXPECT_EQ(sampled.fault(), 1);
  EXPECT_EQ(sampled.value(), 42);
  EXPECT_EQ(sampled.controller.Value(sampled.controller.ValueIndex("sensor_faults")), 1);
  sampled.Sample(2.5);
  EXPECT_EQ(sampled.fault(), 0);
  EXPECT_EQ(sampled.value(), 50);
}

TEST(Analog, ShortDipIsNoFault) {
  Sampled sampled(Pressure());
  for (int i = 0; i < 40; ++i) sampled.Sample(i % 8 == 7 ? 2.5 : 0.1);
  EXPECT_EQ(sampled.fault(), 0);
  EXPECT_EQ(sampled.controller.Value(sampled.controller.ValueIndex("sensor_faults")), 0);
}

TEST(Analog, SignalHighIsToldFromLow) {
  Sampled sampled(Pressure());
  for (int i = 0; i < 11; ++i) sampled.Sample(4.9);
  EXPECT_EQ(sampled.fault(), 2);
}

TEST(Analog, ReferenceShortToGroundIsSignalLow) {
  Sampled sampled(Pressure());
  for (int i = 0; i < 11; ++i) sampled.Sample(0.001, 0.001);
  EXPECT_EQ(sampled.fault(), 1);
}

TEST(Analog, LowPassReachesSixtyThreePercentInItsTime) {
  profile::AnalogChannel channel = Pressure();
  channel.filter_ms = 100;
  Sampled sampled(channel);
  sampled.Sample(0.5);
  for (int i = 0; i < 10; ++i) sampled.Sample(4.5);
  EXPECT_NEAR(sampled.value(), 100 * (1 - std::exp(-1)), 1e-9);  // 63.2 after one time constant
}

TEST(Analog, CalibrationFaultBendsTheTable) {
  Sampled sampled(Pressure());
  const profile::fault::Calibration bent{1.1, -3};
  sampled.controller.SetCalibration("fuel_pressure", bent, true);
  sampled.Sample(2.5);
  EXPECT_NEAR(sampled.value(), 50 * 1.1 - 3, 1e-9);
  sampled.controller.SetCalibration("fuel_pressure", bent, false);
  sampled.Sample(2.5);
  EXPECT_NEAR(sampled.value(), 50, 1e-9);
}

TEST(Analog, WithoutSupplyItFallsBack) {
  Sampled sampled(Pressure());
  sampled.Sample(2.5);
  sampled.Sample(2.5, 5, 5.5);
  EXPECT_EQ(sampled.value(), 42);
  EXPECT_EQ(sampled.fault(), 0);
}

// percent = f - 50; T = 41.25 pw - 81.25 (common_ethanol scale of the reference file).
profile::FrequencyChannel Composition() {
  profile::FrequencyChannel channel;
  channel.name = "ethanol";
  channel.terminal = "ECU.1";
  channel.value_at_hz = {{50, 0}, {150, 100}};
  channel.fallback = 10;
  return channel;
}

void Pulses(FrequencyInput& input, double period_ms, double low_ms, int count, double from_ms = 0) {
  for (int i = 0; i < count; ++i) {
    input.OnEdge(FromMs(from_ms + i * period_ms), false);
    input.OnEdge(FromMs(from_ms + i * period_ms + low_ms), true);
  }
}

TEST(Frequency, CompositionReadsThePublishedTable) {
  const profile::FrequencyChannel channel = Composition();
  for (const auto& [percent, period_ms] : {std::pair{0.0, 20.0},
                                           {10.0, 16.66667},
                                           {50.0, 10.0},
                                           {85.0, 7.407407},
                                           {100.0, 6.666667}}) {
    FrequencyInput input(channel);
    Pulses(input, period_ms, 1, 3);
    EXPECT_NEAR(input.value(), percent, 0.001);
  }
}

TEST(Frequency, LowTimeReadsThePublishedTemperature) {
  profile::FrequencyChannel channel = Composition();
  channel.value_at_hz.clear();
  channel.value_at_low_ms = {{1, -40}, {5, 125}};
  for (const auto& [low_ms, degc] : {std::pair{1.0, -40.0}, {2.0, 1.25}, {4.0, 83.75}}) {
    FrequencyInput input(channel);
    Pulses(input, 10, low_ms, 2);
    EXPECT_NEAR(input.value(), degc, 1e-6);
  }
}

TEST(Frequency, SilenceIsNoSignal) {
  const profile::FrequencyChannel channel = Composition();
  FrequencyInput input(channel);
  Pulses(input, 10, 1, 3);
  input.Advance(FromMs(520));
  EXPECT_EQ(input.fault(), ChannelFault::kNone);  // 499 ms after the last edge
  input.Advance(FromMs(522));
  EXPECT_EQ(input.fault(), ChannelFault::kNoSignal);
  EXPECT_EQ(input.value(), 10);
  input.Advance(FromMs(600));
  EXPECT_EQ(input.faults(), 1);
  Pulses(input, 10, 1, 2, 700);
  EXPECT_EQ(input.fault(), ChannelFault::kNone);
}

TEST(Frequency, StandingStillIsNoFaultOfAWheel) {
  profile::FrequencyChannel channel = Composition();
  channel.value_at_hz = {{0, 0}, {671.646, 100}};  // tests/reference/wheel_speed_tyre.yaml
  channel.zero_is_valid = true;
  FrequencyInput input(channel);
  Pulses(input, 1000 / 671.646, 0.5, 4);
  EXPECT_NEAR(input.value(), 100, 0.001);
  input.Advance(FromMs(100));  // overdue: no faster than one pulse in 95.5 ms, 1.56 km/h
  EXPECT_NEAR(input.value(), 1.56, 0.01);
  input.Advance(FromMs(700));
  EXPECT_EQ(input.value(), 0);
  EXPECT_EQ(input.fault(), ChannelFault::kNone);
}

TEST(Frequency, WavesReachItThroughTheController) {
  profile::AnalogChannel unused = Pressure();
  profile::Bench bench = BenchWith(unused);
  bench.controller->frequency = {Composition()};
  Controller controller(bench);
  for (int i = 0; i < 5; ++i) {
    controller.OnWave(0, {i * 10 * kNsPerMs, kNever, 0.1, 0.1, 0});
    controller.OnWave(0, {i * 10 * kNsPerMs + kNsPerMs, kNever, 4.9, 4.9, 0});
  }
  controller.Advance(60 * kNsPerMs);
  EXPECT_NEAR(controller.Value(controller.ValueIndex("ethanol")), 50, 1e-9);
}

TEST(Values, EveryNameHasItsIndex) {
  const profile::Bench bench = BenchWith(Pressure());
  const Controller controller(bench);
  const auto names = ControllerValueNames(*bench.controller);
  for (std::size_t i = 0; i < names.size(); ++i) {
    EXPECT_EQ(controller.ValueIndex(names[i]), static_cast<int>(i));
  }
  EXPECT_EQ(controller.ValueIndex("nothing"), -1);
  EXPECT_EQ(names.size(), 9u + 2u);
}

}  // namespace
}  // namespace drycrank::standin
