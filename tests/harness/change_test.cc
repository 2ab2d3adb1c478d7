// SPDX-License-Identifier: Apache-2.0
//
// What changes while a run goes on: the way through many Solves against a network built anew, the
// transfer of sources, and that nothing is allocated.
#include <gtest/gtest.h>

#include <atomic>
#include <cmath>
#include <cstdlib>

#include "harness/harness.h"
#include "tests/harness/car_bench.h"
#include "tests/harness/small_bench.h"
#include "tests/support/pulse_bench.h"
#include "types/random.h"

#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__) && defined(__GLIBC__)
#define DRYCRANK_COUNTS_ALLOCATIONS
// Every allocation of this program comes through here: operator new, and Eigen's own.
namespace {
std::atomic<long> allocations{0};
}
extern "C" void* __libc_malloc(std::size_t bytes);
extern "C" void* malloc(std::size_t bytes) {
  ++allocations;
  return __libc_malloc(bytes);
}
#endif

namespace drycrank::harness {
namespace {

namespace fault = profile::fault;
using support::FaultList;

std::vector<double> Solved(Harness& harness, const std::vector<double>& values) {
  std::vector<double> input_v(harness.input_count());
  harness.Solve(values, input_v);
  return input_v;
}

// One device of the car bench takes another plausible value.
void ChangeOne(Random& random, std::vector<double>& values) {
  const auto device = static_cast<std::size_t>(random.Uniform() * 10);
  const double x = random.Uniform();
  switch (device) {
    case kVrs:
      values[device] = 20 * x - 10;
      break;
    case kClt:
    case kIat:
      values[device] = 50 * std::pow(2000, x);  // 50 ohm to 100 kohm
      break;
    case kMap:
      values[device] = x;
      break;
    case kOil:
      values[device] = 5 * x;
      break;
    case kEgt:
      values[device] = 0.05 * x;
      break;
    case kSw:
      values[device] = x > 0.5 ? 0.1 : 10e6;
      break;
    default:  // Hall outputs
      values[device] = 1 - values[device];
  }
}

// The network built anew starts from other first values and gets there in other steps.
void ExpectPathDoesNotMatter(const FaultList& faults) {
  Harness walked(CarBench(), faults.pointers());
  Random random(7, 0);
  std::vector<double> values = CarValues();
  for (int step = 1; step <= 4000; ++step) {
    ChangeOne(random, values);
    const std::vector<double> input_v = Solved(walked, values);
    if (step % 97 != 0) continue;
    Harness fresh(CarBench(), faults.pointers());
    const std::vector<double> expected_v = Solved(fresh, values);
    for (std::size_t i = 0; i < input_v.size(); ++i) {
      ASSERT_NEAR(input_v[i], expected_v[i], 1e-9) << "input " << i << " after " << step;
    }
  }
}

TEST(HarnessChange, ManyStepsGiveWhatANewNetworkGives) { ExpectPathDoesNotMatter({}); }

TEST(HarnessChange, ManyStepsWithDiodesAndLostSupplies) {
  ExpectPathDoesNotMatter(FaultList()
                              .Add(fault::TerminalsSwapped{}, "CMP.2", "CMP.3")
                              .Add(fault::TerminalsSwapped{}, "CKP.1", "CKP.2")
                              .Add(fault::TerminalsSwapped{}, "WSS.1", "WSS.3"));
}

TEST(HarnessChange, ManyStepsWithTheSensorGroundFloating) {
  ExpectPathDoesNotMatter(FaultList().Add(fault::Open{}, "sensor_ground"));
}

// Outputs that switch and nothing else: the currents are brought up to date 30,000 times, and all is
// solved again every ten thousand (reduction.h).
TEST(HarnessChange, OutputsThatSwitchForAWhile) {
  constexpr int kSensors = 40;
  const profile::Bench bench = support::PulseBench(kSensors);
  Harness walked(bench, {});
  Random random(5, 0);
  std::vector<double> values(kSensors, 0);
  for (int step = 1; step <= 30'000; ++step) {
    double& value = values[static_cast<std::size_t>(random.Uniform() * kSensors)];
    value = 1 - value;
    const std::vector<double> input_v = Solved(walked, values);
    if (step % 4'999 != 0) continue;
    Harness fresh(bench, {});
    const std::vector<double> expected_v = Solved(fresh, values);
    for (std::size_t i = 0; i < input_v.size(); ++i) {
      ASSERT_NEAR(input_v[i], expected_v[i], 1e-9) << "input " << i << " after " << step;
      ASSERT_EQ(input_v[i] < 2.5, values[i] == 1) << "input " << i << " after " << step;
    }
  }
}

TEST(HarnessChange, AChangedValueChangesItsOwnInput) {
  Harness harness(CarBench(), {});
  std::vector<double> values = CarValues();
  const std::vector<double> before_v = Solved(harness, values);
  values[kClt] = 1000;
  const std::vector<double> after_v = Solved(harness, values);
  EXPECT_GT(before_v[kClt] - after_v[kClt], 0.5);
  EXPECT_NEAR(before_v[kIat], after_v[kIat], 1e-4);  // but for the shared ground
  values = CarValues();
  EXPECT_NEAR(Solved(harness, values)[kClt], before_v[kClt], 1e-10);
}

// The divider of HarnessCoil in harness_test.cc.
TEST(HarnessTransfer, IsTheCoilsDivider) {
  Harness harness(CoilBench(), {});
  Solved(harness, {0.7});
  double gain = 0;
  harness.Transfer(0, {&gain, 1});
  EXPECT_NEAR(gain, 0.913651, 5e-6);
}

TEST(HarnessTransfer, IsNegativeWithSwappedLeads) {
  const FaultList faults = FaultList().Add(fault::TerminalsSwapped{}, "CKP.1", "CKP.2");
  Harness harness(CoilBench(), faults.pointers());
  double gain = 0;
  harness.Transfer(0, {&gain, 1});
  EXPECT_NEAR(gain, -0.913651, 5e-6);
}

// Superposition: sources one at a time, with a fault that couples them into each other's inputs.
TEST(HarnessTransfer, SourcesAddUpAtEveryInput) {
  const FaultList faults = FaultList()
                               .Add(fault::SeriesResistance{30}, "sensor_ground")
                               .Add(fault::ShortTogether{2000}, "VRS.1", "OIL.3");
  Harness harness(CarBench(), faults.pointers());
  std::vector<double> values = CarValues();
  const std::vector<double> before_v = Solved(harness, values);
  std::vector<double> coil(before_v.size()), oil(before_v.size());
  harness.Transfer(kVrs, coil);
  harness.Transfer(kOil, oil);
  values[kVrs] += 0.3;
  values[kOil] -= 0.2;
  const std::vector<double> after_v = Solved(harness, values);
  for (std::size_t i = 0; i < before_v.size(); ++i) {
    EXPECT_NEAR(after_v[i] - before_v[i], 0.3 * coil[i] - 0.2 * oil[i], 1e-9) << i;
  }
  EXPECT_GT(std::abs(coil[kOil]), 1e-3);  // they are coupled
}

// Eight outputs and a voltage sensor (the last input) behind one bad ground: how many of them conduct decides whether
// the sensor has its least supply. Nothing but outputs changes, so that the matrix is never factored anew.
profile::Bench BadGroundBench(double min_supply_v) {
  constexpr int kSensors = 8;
  support::BenchBuilder builder;
  builder.Connector("BAT", 2).Connector("ECU", kSensors + 3).Splice("P").Splice("G").Splice("S");
  builder.Supply("BAT.1", "BAT.2", 13.8).Controller("ECU.1", "ECU.2");
  builder.Wire("plus", "BAT.1", "P").Wire("plus", "P", "ECU.1");
  builder.Wire("minus", "BAT.2", "G").Wire("minus", "G", "ECU.2").Wire("shared", "S", "G");
  const auto wire = [&](const std::string& plug, int i) {
    const std::string input = "ECU." + std::to_string(i + 3);
    builder.Wire(plug, plug + ".1", "P")
        .Wire(plug, plug + ".2", "S")
        .Wire(plug, plug + ".3", input);
    builder.Input(input, 2200);
  };
  for (int i = 0; i < kSensors; ++i) {
    const std::string plug = "S" + std::to_string(i);
    profile::FrequencySensor pulses;
    pulses.output = support::Hall(plug);
    builder.Connector(plug, 3).Sensor(plug, pulses);
    wire(plug, i);
  }
  profile::VoltageSensor volts = support::VoltageOutput("V");
  volts.min_supply_v = min_supply_v;
  builder.Connector("V", 3).Sensor("V", volts);
  wire("V", kSensors);
  return builder.Build();
}

TEST(HarnessChange, ASupplyThatCrossesItsLeastWithEachEdge) {
  const FaultList faults = FaultList().Add(fault::SeriesResistance{40}, "shared");
  Harness half(BadGroundBench(0), faults.pointers());
  Solved(half, {1, 1, 1, 1, 0, 0, 0, 0, 1.5});
  const double min_supply_v = half.Voltage("V.1") - half.Voltage("V.2") - 1e-3;  // four may conduct
  const profile::Bench bench = BadGroundBench(min_supply_v);
  Harness walked(bench, faults.pointers());
  Random random(11, 0);
  std::vector<double> values(9, 0);
  values[8] = 1.5;
  const std::vector<int> picked = {8, 2};
  std::vector<double> some_v(9, -1);
  int with = 0, without = 0;
  for (int step = 0; step < 3000; ++step) {
    double& value = values[static_cast<std::size_t>(random.Uniform() * 8)];
    value = 1 - value;
    if (step % 2 == 0) walked.SolveAt(values, picked, some_v);
    const std::vector<double> input_v = Solved(walked, values);
    for (const std::size_t i : {8u, 2u}) {
      if (step % 2 != 0) break;
      ASSERT_NEAR(some_v[i], input_v[i], 1e-12) << "input " << i << " after " << step;
    }
    ASSERT_EQ(some_v[5], -1);
    (std::abs(walked.Voltage("V.3") - walked.Voltage("V.2") - 1.5) < 0.3 ? with : without) += 1;
    if (step % 5 != 0) continue;
    Harness fresh(bench, faults.pointers());
    const std::vector<double> expected_v = Solved(fresh, values);
    for (std::size_t i = 0; i < input_v.size(); ++i) {
      ASSERT_NEAR(input_v[i], expected_v[i], 1e-9) << "input " << i << " after " << step;
    }
  }
  EXPECT_GT(with, 300) << without;
  EXPECT_GT(without, 300) << with;
}

// An output without its supply gives nothing, whatever it would give.
TEST(HarnessTransfer, IsZeroForAnOutputThatIsOff) {
  const FaultList faults = FaultList().Add(fault::Open{}, "oil_plus");
  Harness harness(CarBench(), faults.pointers());
  const std::vector<double> before_v = Solved(harness, CarValues());
  std::vector<double> gain(before_v.size(), 1);
  harness.Transfer(kOil, gain);
  for (const double volts : gain) EXPECT_EQ(volts, 0);
}

#ifdef DRYCRANK_COUNTS_ALLOCATIONS
TEST(HarnessChange, NothingIsAllocatedAfterConstruction) {
  const FaultList faults = FaultList().Add(fault::TerminalsSwapped{}, "CMP.2", "CMP.3");
  const long before_building = allocations;
  Harness harness(CarBench(), faults.pointers());
  EXPECT_GT(allocations - before_building, 100);  // the count works
  Random random(3, 0);
  std::vector<double> values = CarValues();
  std::vector<double> input_v(harness.input_count());
  std::vector<double> gain(input_v.size());
  const long before = allocations;
  for (int step = 0; step < 2000; ++step) {
    ChangeOne(random, values);
    harness.Solve(values, input_v);
    harness.Transfer(kVrs, gain);
    static_cast<void>(harness.ControllerSupply() + harness.Reference(0));
  }
  EXPECT_EQ(allocations - before, 0);
}
#endif

}  // namespace
}  // namespace drycrank::harness
