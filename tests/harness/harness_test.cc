// SPDX-License-Identifier: Apache-2.0
//
// Devices through a healthy and a faulty harness, worked by hand (small_bench.h has the
// resistances).
#include "harness/harness.h"

#include <gtest/gtest.h>

#include <cmath>

#include "profile/sensors.h"
#include "tests/harness/small_bench.h"

namespace drycrank::harness {
namespace {

namespace fault = profile::fault;
using support::FaultList;

double Hall(double value, const FaultList& faults = {}) {
  return Readings(HallBench(), {value}, faults)[0];
}

// Off: 5 M beside 1 M is 833.3 k; 5 * 833.3 / 834.3 = 4.9940. On: 5 * 25.157 / 1025.157 = 0.1227,
// and 8 mA of supply current in the ground's 108 mohm lift it by 0.8 mV.
TEST(HarnessHall, PullsItsSignalDown) {
  EXPECT_NEAR(Hall(0), 4.9940, 1e-3);
  EXPECT_NEAR(Hall(1), 0.1235, 1e-3);
}

// Ground pin at the input, signal pin at ground. Off: all of the pull-up's and the sensor's own
// current goes through the reverse diode: i = 5/1000 + 12/1500 - v/600 = 13 mA - v/600 and
// v = 0.7 + 1.157 i: i = 11.81 mA, v = 0.7137 V. On: i through 25.157 ohm: 12.48 mA, v = 0.314 V.
TEST(HarnessHall, SignalAndGroundSwappedIsLowForEver) {
  const FaultList faults = FaultList().Add(fault::TerminalsSwapped{}, "CMP.2", "CMP.3");
  EXPECT_NEAR(Hall(0, faults), 0.7137, 1e-3);
  EXPECT_NEAR(Hall(1, faults), 0.3135, 1e-3);
}

// Supply pin at the input: 1500 ohm beside 1 M is 1497.8; 5 * 1497.8 / 2497.8 = 2.998 V, too little
// for the sensor (3.8 V): it never switches.
TEST(HarnessHall, SupplyAndSignalSwappedIsConstantMid) {
  const FaultList faults = FaultList().Add(fault::TerminalsSwapped{}, "CMP.1", "CMP.3");
  EXPECT_NEAR(Hall(0, faults), 2.998, 1e-3);
  EXPECT_NEAR(Hall(1, faults), 2.998, 1e-3);
}

// Supply reversed: the ground pin at 12 V drives the signal through the diode. Battery against the
// controller's ground: 12 V - 413 mA * (20 + 49 mohm) = 11.9715 V; its contact, shared with the
// controller, takes 2.1 mV, the sensor's wire 0.6 mV. i = (v - 5)/1000 + v/1 M = 6.27 mA;
// v = 11.9688 - 0.7 - 1.049 i = 11.2622 V.
TEST(HarnessHall, SupplyAndGroundSwappedDrivesTheInput) {
  const FaultList faults = FaultList().Add(fault::TerminalsSwapped{}, "CMP.1", "CMP.2");
  EXPECT_NEAR(Hall(0, faults), 11.2622, 1e-3);
  EXPECT_NEAR(Hall(1, faults), 11.2622, 1e-3);
}

TEST(HarnessHall, WithoutSupplyItDoesNotSwitch) {
  EXPECT_NEAR(Hall(1, FaultList().Add(fault::Open{}, "CMP_supply")), 4.9940, 1e-3);
  // 12 V * 1500 / (1500 + r) is 3.8 V at r = 3237 ohm.
  EXPECT_LT(Hall(1, FaultList().Add(fault::SeriesResistance{3100}, "CMP.1")), 0.2);
  EXPECT_GT(Hall(1, FaultList().Add(fault::SeriesResistance{3300}, "CMP.1")), 4.9);
}

// Current 5 / 1000.357 = 4.99822 mA: supply 4.99822 V, ground +0.54 mV (108 mohm);
// (0.00054 + 0.5 * 4.99822) * 1 M / (1 M + 50.05) = 2.49952 V.
TEST(HarnessRatiometric, GivesItsFractionOfTheReference) {
  EXPECT_NEAR(Readings(PressureBench(), {0.5})[0], 2.49952, 1e-5);
  EXPECT_NEAR(Readings(PressureBench(), {0.1})[0], 0.50034, 1e-5);
}

// Its ground 0.3 V up: supply 4.69822 V; 0.30051 + 0.5 * 4.6983 = 2.64964 V.
TEST(HarnessRatiometric, FollowsItsOwnGround) {
  const FaultList faults = FaultList().Add(fault::GroundOffset{0.3}, "MAP.2");
  EXPECT_NEAR(Readings(PressureBench(), {0.5}, faults)[0], 2.6495, 2e-4);
}

// 1 kohm to the controller's ground: 2.49965 * 1000 / 1050.15 = 2.3803 V. A load on the output does
// not reach back to the supply: unlike a resistor, the law works one way.
TEST(HarnessRatiometric, ALoadOnTheOutputDoesNotMoveItsSupply) {
  const FaultList faults = FaultList().Add(fault::ShortTogether{1000}, "MAP.3", "S_GND");
  Harness harness(PressureBench(), faults.pointers());
  std::vector<double> input_v(1);
  harness.Solve(std::vector<double>{0.5}, input_v);
  EXPECT_NEAR(input_v[0], 2.3803, 1e-3);
  EXPECT_NEAR(harness.Voltage("MAP.1") - harness.Voltage("MAP.2"), 4.99822, 1e-3);
}

TEST(HarnessRatiometric, WithoutReferenceThereIsNothing) {
  const FaultList faults = FaultList().Add(fault::Open{}, "MAP_supply");
  EXPECT_NEAR(Readings(PressureBench(), {0.9}, faults)[0], 0, 1e-4);
}

// Not the solution in which the output holds up its own supply: the sensor's supply current finds
// no way but the input's 1 Mohm, 5 V * 1 M / (1 M + 1000.3) = 4.9950, less the output's 1 Mohm to
// the real ground: 5 * 0.5 M / 0.501 M = 4.9900 V.
TEST(HarnessRatiometric, SignalAndGroundSwappedStaysOff) {
  const FaultList faults = FaultList().Add(fault::TerminalsSwapped{}, "MAP.2", "MAP.3");
  EXPECT_NEAR(Readings(PressureBench(), {0.42}, faults)[0], 4.9900, 2e-4);
}

profile::Bench OilBench() {
  support::BenchBuilder b = SmallBench();
  AddThreeWires(b, "OIL", "BAT.1");
  b.Sensor("oil", support::VoltageOutput("OIL")).Input("ECU.7", 0, 5, 10e3);
  return b.Build();
}

// 12 mA in the ground's 108 mohm: 1.29 mV; 2.50129 * 10 k / 10100.05 = 2.47652 V.
TEST(HarnessVoltage, IsAgainstTheSensorsGround) {
  EXPECT_NEAR(Readings(OilBench(), {2.5})[0], 2.4765, 2e-4);
}

// 12 V * 1000 / 2100 = 5.7 V is less than the 6 V it needs: 10 k beside 1 Mohm, both to ground.
TEST(HarnessVoltage, IsOffBelowItsSupply) {
  const FaultList faults = FaultList().Add(fault::SeriesResistance{1100}, "OIL_supply");
  EXPECT_NEAR(Readings(OilBench(), {2.5}, faults)[0], 0, 1e-3);
}

// Differential input: 10 k beside twice 100 k is 9523.81; / (9523.81 + 900 + 0.098) = 0.913651.
TEST(HarnessCoil, IsDividedByItsOwnResistance) {
  EXPECT_NEAR(Readings(CoilBench(), {2})[0], 2 * 0.913651, 1e-5);
  EXPECT_NEAR(Readings(CoilBench(), {-2})[0], -2 * 0.913651, 1e-5);
}

TEST(HarnessCoil, SwappedLeadsInvertIt) {
  const FaultList faults = FaultList().Add(fault::TerminalsSwapped{}, "CKP.1", "CKP.2");
  EXPECT_NEAR(Readings(CoilBench(), {2}, faults)[0], -2 * 0.913651, 1e-5);
}

TEST(HarnessCoil, OneLeadOpenIsNothing) {
  const FaultList faults = FaultList().Add(fault::Open{}, "ckp_plus");
  EXPECT_NEAR(Readings(CoilBench(), {2}, faults)[0], 0, 1e-4);
}

// 1 M beside 200 k is 166667; / (166667 + 5 + 0.098): loses 0.6 uV of 20.5 mV.
TEST(HarnessTypeK, ComesThroughToAMicrovolt) {
  support::BenchBuilder b = SmallBench();
  b.Connector("EGT", 2).Wire("egt_plus", "EGT.1", "ECU.8").Wire("egt_minus", "EGT.2", "ECU.9");
  b.Sensor("exhaust", profile::TypeKSensor{"EGT.1", "EGT.2"});
  b.Differential("ECU.8", "ECU.9", 1e6);
  EXPECT_NEAR(Readings(b.Build(), {0.020500})[0], 0.0204994, 1e-7);
}

// Pull-up 1 k to 12 V: closed 12 * 0.257 / 1000.26 = 3.08 mV; open 10 M beside 1 M:
// 12 * 909.09 / 910.09 = 11.98681 V.
TEST(HarnessSwitch, OpensAndCloses) {
  support::BenchBuilder b = SmallBench();
  b.Connector("SW", 2).Wire("sw", "SW.1", "ECU.4").Wire("sw_gnd", "SW.2", "S_GND");
  b.Sensor("brake", profile::SwitchSensor{"SW.1", "SW.2"}).Input("ECU.4", 1000, 12);
  EXPECT_NEAR(Readings(b.Build(), {0.1})[0], 0.00308, 1e-5);
  EXPECT_NEAR(Readings(b.Build(), {10e6})[0], 11.98681, 1e-4);
}

// 12 V / 30.118 ohm: 398.4 mA; 11.9530 V at the controller.
TEST(Harness, ControllerSupplyIsMeasuredAtTheController) {
  EXPECT_NEAR(Harness(SmallBench().Build(), {}).ControllerSupply(), 11.9530, 1e-4);
}

TEST(Harness, NodesHaveNames) {
  Harness harness(TwoNtcBench(), {});
  EXPECT_EQ(harness.Voltage("BAT.2"), 0);
  EXPECT_NEAR(harness.Voltage("BAT.1"), 11.992, 1e-3);
  EXPECT_TRUE(std::isnan(harness.Voltage("NONE.1")));
  EXPECT_EQ(harness.NodeNames().front(), "BAT.2");
}

TEST(Harness, AnEmptyBenchIsANetwork) {
  Harness harness(profile::Bench{}, {});
  EXPECT_EQ(harness.device_count(), 0U);
  EXPECT_EQ(harness.input_count(), 0U);
  harness.Solve({}, {});
  EXPECT_EQ(harness.ControllerSupply(), 0);
}

TEST(Harness, ABenchWithoutDevicesHasInputs) {
  Harness harness(SmallBench().Input("ECU.4", 2200).Build(), {});
  std::vector<double> input_v(1);
  harness.Solve({}, input_v);
  EXPECT_NEAR(input_v[0], 5 / 1.0022, 1e-4);
}

// Signal and supply joined behind 500 ohm: conducting, the output pulls its supply to
// 12 * 25 / 525 = 0.6 V and stops; stopped, it has 12 * 1500 / 2000 = 9 V and conducts.
TEST(Harness, ACircuitWithoutAnswerIsCountedAndEnds) {
  const FaultList faults = FaultList()
                               .Add(fault::SeriesResistance{500}, "CMP_supply")
                               .Add(fault::ShortTogether{}, "CMP.1", "CMP.3");
  Harness harness(HallBench(), faults.pointers());
  std::vector<double> input_v(1);
  harness.Solve(std::vector<double>{0}, input_v);
  EXPECT_EQ(harness.unsettled_count(), 0);
  harness.Solve(std::vector<double>{1}, input_v);
  EXPECT_EQ(harness.unsettled_count(), 1);
  EXPECT_TRUE(std::isfinite(input_v[0]));
}

}  // namespace
}  // namespace drycrank::harness
