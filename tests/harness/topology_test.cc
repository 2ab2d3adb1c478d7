// SPDX-License-Identifier: Apache-2.0
//
// Each fault edits what it should. Thermistors of 2200 and 1000 ohm; by hand, with the way through
// wires, contacts and sensor ground 49 + 5 + 39 + 39 + 5 + 20 = 157 mohm (small_bench.h), of which
// 64 mohm are shared. Healthy coolant: 2200.157 ohm beside the input's 1 Mohm is 2195.327 ohm;
// 5 V * 2195.327 / 4395.327 = 2.49734 V; the other's 1.6 mA in 64 mohm lift it by 0.05 mV.
#include "harness/topology.h"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/harness/small_bench.h"

namespace drycrank::harness {
namespace {

namespace fault = profile::fault;
using support::FaultList;

constexpr double kCoolantV = 2.49739;
constexpr double kAirV = 1.56165;  // 1000.157 beside 1 M: 999.158; 5 * 999.158 / 3199.158 + 0.05 mV
constexpr double kOpenV = 4.98902;  // 5 * 1 M / 1.0022 M

std::vector<double> Two(const FaultList& faults) {
  return Readings(TwoNtcBench(), {2200, 1000}, faults);
}

void ExpectReadings(const FaultList& faults, double coolant_v, double air_v, double within_v) {
  const std::vector<double> read = Two(faults);
  EXPECT_NEAR(read[0], coolant_v, within_v);
  EXPECT_NEAR(read[1], air_v, within_v);
}

TEST(Topology, WithoutFaultBothAreRight) { ExpectReadings({}, kCoolantV, kAirV, 1e-4); }

TEST(Topology, OpenContactFloatsToThePullUp) {
  ExpectReadings(FaultList().Add(fault::Open{}, "CLT.1"), kOpenV, kAirV, 1e-4);
  ExpectReadings(FaultList().Add(fault::Open{}, "ECU.5"), kCoolantV, kOpenV, 1e-4);
}

TEST(Topology, OpenCircuitCutsItsWires) {
  ExpectReadings(FaultList().Add(fault::Open{}, "CLT_ground"), kOpenV, kAirV, 1e-4);
}

// Both float to one common voltage, that of two equal dividers of 2.2 kohm and 1 Mohm.
TEST(Topology, OpenSharedSensorGroundMovesEverySensorOnIt) {
  ExpectReadings(FaultList().Add(fault::Open{}, "sensor_ground"), kOpenV, kOpenV, 1e-4);
}

// A circuit of two wires: both are cut, and the splice between them hangs free.
TEST(Topology, OpenCircuitOfTwoWiresLeavesTheSpliceFree) {
  support::BenchBuilder b = SmallBench();
  b.Splice("S_MID").Connector("CLT", 2).Sensor("CLT", support::Ntc("CLT")).Input("ECU.4", 2200);
  b.Wire("clt", "CLT.1", "S_MID").Wire("clt", "S_MID", "ECU.4").Wire("gnd", "CLT.2", "S_GND");
  const FaultList faults = FaultList().Add(fault::Open{}, "clt");
  Harness harness(b.Build(), faults.pointers());
  std::vector<double> input_v(1);
  harness.Solve(std::vector<double>{2200}, input_v);
  EXPECT_NEAR(input_v[0], kOpenV, 1e-4);
  EXPECT_NEAR(harness.Voltage("S_MID"), 0, 1e-6);
}

// The controller's ground is 0.396 A * 49 mohm = 19.4 mV above the battery's minus: a signal
// shorted to the battery's minus reads below zero. 2.3 mA through 1 + 44 mohm add 0.1 mV.
TEST(Topology, ShortToGroundIsToTheBatterysMinus) {
  ExpectReadings(FaultList().Add(fault::ShortToGround{}, "CLT.1"), -0.0193, kAirV, 3e-4);
}

// Battery 12 V - 0.41 A * 20 mohm = 11.992 V, the controller's ground 19.5 mV: 11.972 V; 8.6 mA
// take 0.9 mV in 0.1 ohm. The air signal is lifted by 5.4 mA * 64 mohm less its share: 0.1 to 0.3
// mV.
TEST(Topology, ShortToSupplyIsToTheBatterysPlus) {
  ExpectReadings(FaultList().Add(fault::ShortToSupply{0.1}, "ECU.4"), 11.971, kAirV, 2e-3);
}

// Splices can be shorted as well: the sensor ground at battery plus behind 1 kohm carries 12 mA
// through 64 mohm (0.77 mV) and no more.
TEST(Topology, ShortAtASplice) {
  const std::vector<double> shorted = Two(FaultList().Add(fault::ShortToSupply{1000}, "S_GND"));
  // A lift of 0.767 mV reaches the input by 2200 / 4400 and, at 1000 ohm, 2200 / 3200.
  EXPECT_NEAR(shorted[0], kCoolantV + 0.00038, 1e-4);
  EXPECT_NEAR(shorted[1], kAirV + 0.00053, 1e-4);
}

// Pull-ups 2200 beside 2200 are 1100; sensors 2200 beside 1000 and inputs 500 k: 686.56;
// 5 * 686.56 / 1786.56 = 1.9215 V, wires and short within 1 mV.
TEST(Topology, SignalsShortedTogetherAreOne) {
  ExpectReadings(FaultList().Add(fault::ShortTogether{}, "CLT.1", "IAT.1"), 1.9215, 1.9215, 1e-3);
}

// 2300.157 beside 1 M: 2294.879; 5 * 2294.879 / 4494.879 = 2.55277 V.
TEST(Topology, SeriesResistanceInWireOrContact) {
  ExpectReadings(FaultList().Add(fault::SeriesResistance{100}, "CLT_signal"), 2.55282, kAirV, 1e-4);
  ExpectReadings(FaultList().Add(fault::SeriesResistance{100}, "CLT.2"), 2.55282, kAirV, 1e-4);
}

// 10 k to the battery's minus (19.4 mV below the controller's ground): conductances 1/2195.327 +
// 1/10000 = 0.55551 mS; (5/2200 - 0.0194/10000) / (0.55551 mS + 1/2200) = 2.24835 V.
TEST(Topology, LeakageGoesToGroundUnlessToldWhere) {
  ExpectReadings(FaultList().Add(fault::Leakage{10e3}, "CLT.1"), 2.2483, kAirV, 3e-4);
  // To the other signal: currents balance at both nodes,
  //   (5-x)/2200 = x/2195.33 + (x-y)/10000, (5-y)/2200 = y/999.158 + (y-x)/10000
  //   1.010057 x - 0.1 y = 2.272727, -0.1 x + 1.555388 y = 2.272727 (mA): x = 2.41007, y = 1.61614.
  ExpectReadings(FaultList().Add(fault::Leakage{10e3}, "CLT.1", "IAT.1"), 2.4101, 1.6162, 3e-4);
}

TEST(Topology, SwappedWiresSwapTheReadings) {
  ExpectReadings(FaultList().Add(fault::TerminalsSwapped{}, "CLT.1", "IAT.1"), kAirV, kCoolantV,
                 1e-4);
  ExpectReadings(FaultList().Add(fault::TerminalsSwapped{}, "ECU.4", "ECU.5"), kAirV, kCoolantV,
                 1e-4);
}

TEST(Topology, ASwappedThermistorIsTheSame) {
  ExpectReadings(FaultList().Add(fault::TerminalsSwapped{}, "CLT.1", "CLT.2"), kCoolantV, kAirV,
                 1e-4);
}

TEST(Topology, SwappedConnectorsSwapTheReadings) {
  ExpectReadings(FaultList().Add(fault::ConnectorsSwapped{}, "CLT", "IAT"), kAirV, kCoolantV, 1e-4);
}

TEST(Topology, ASwapTwiceIsNone) {
  ExpectReadings(FaultList()
                     .Add(fault::ConnectorsSwapped{}, "CLT", "IAT")
                     .Add(fault::ConnectorsSwapped{}, "IAT", "CLT"),
                 kCoolantV, kAirV, 1e-4);
}

// The coolant's plug has no pin 3: the Hall sensor's signal hangs free, and its input with it.
TEST(Topology, APinWithoutPartnerHangsFree) {
  support::BenchBuilder b = SmallBench();
  AddNtc(b, "CLT", "4");
  AddThreeWires(b, "CMP", "BAT.1");
  b.Trigger("cam", support::Hall("CMP")).Input("ECU.7", 1000);
  const std::vector<double> read =
      Readings(b.Build(), {1, 2200}, FaultList().Add(fault::ConnectorsSwapped{}, "CLT", "CMP"));
  EXPECT_NEAR(read[1], 5 * 1e6 / 1.001e6, 1e-4);
}

// 0.1 V behind 2200.157 ohm: the pin of the sensor is above the wire's end, and the signal with it:
// (5/2200 + 0.1/2200.157) / (1/2200 + 1/2200.157 + 1e-6) = 2.54729 V.
TEST(Topology, GroundOffsetLiftsThePin) {
  ExpectReadings(FaultList().Add(fault::GroundOffset{0.1}, "CLT.2"), 2.5473, kAirV, 2e-4);
}

// An offset of the controller's own ground takes from its supply, but sensors on its sensor ground
// read the same: 11.953 V - 0.3 V * 30 / 30.118 = 11.6541 V.
TEST(Topology, OffsetOfTheControllersGround) {
  const FaultList faults = FaultList().Add(fault::GroundOffset{0.3}, "ECU.2");
  ExpectReadings(faults, kCoolantV, kAirV, 1e-4);
  EXPECT_NEAR(Harness(TwoNtcBench(), {}).ControllerSupply(), 11.9530, 1e-3);
  EXPECT_NEAR(Harness(TwoNtcBench(), faults.pointers()).ControllerSupply(), 11.6541, 1e-3);
}

TEST(Topology, DeviceNotFittedLeavesItsPlugHanging) {
  ExpectReadings(FaultList().Add(fault::NotFitted{}, "IAT"), kCoolantV, kOpenV, 1e-4);
}

// Without the sensor its 5 mA no longer flow in the reference's 0.2 ohm: 4.999 V become 5 V.
TEST(Topology, DeviceNotFittedTakesNoSupply) {
  Harness fitted(PressureBench(), {});
  EXPECT_NEAR(fitted.Reference(0), 4.999, 1e-4);
  const FaultList faults = FaultList().Add(fault::NotFitted{}, "pressure");
  EXPECT_NEAR(Harness(PressureBench(), faults.pointers()).Reference(0), 5.0, 1e-4);
}

TEST(Topology, UnknownNamesAndOtherStagesFaultsEditNothing) {
  ExpectReadings(FaultList()
                     .Add(fault::Open{}, "NONE.1")
                     .Add(fault::TerminalsSwapped{}, "CLT.1", "NONE.1")
                     .Add(fault::ShortTogether{}, "CLT.1", "NONE.1")
                     .Add(fault::ConnectorsSwapped{}, "CLT", "NONE")
                     .Add(fault::NotFitted{}, "none")
                     .Add(fault::SensorOffset{}, "CLT")
                     .Add(fault::MessageMissing{}, "CLT.1"),
                 kCoolantV, kAirV, 1e-4);
}

}  // namespace
}  // namespace drycrank::harness
