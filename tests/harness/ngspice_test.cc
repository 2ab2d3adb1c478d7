// SPDX-License-Identifier: Apache-2.0
//
// The harness against ngspice (a general-purpose circuit simulator), network by network, within
// 0.1 mV: every node and every controller input. The decks come from Harness::Netlist, so this
// checks what is solved; deck_test.cc checks with decks written by hand what the network is.
#include "tests/support/ngspice.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <ostream>
#include <string>
#include <vector>

#include "harness/harness.h"
#include "tests/harness/car_bench.h"

namespace drycrank::harness {
namespace {

using profile::FaultKind;
using support::FaultList;

constexpr double kToleranceV = 1e-4;

struct Case {
  const char* name;
  FaultList faults;
  std::vector<double> values = CarValues();
};

void PrintTo(const Case& shown, std::ostream* out) { *out << shown.name; }

std::vector<double> With(CarDevice device, double value) {
  std::vector<double> values = CarValues();
  values[static_cast<std::size_t>(device)] = value;
  return values;
}

FaultList One(FaultKind kind, const std::string& at, const std::string& with = "", double ohm = 0,
              double volts = 0) {
  FaultList list;
  list.Add(kind, at, with, ohm, volts);
  return list;
}

std::vector<Case> Cases() {
  using enum FaultKind;
  return {
      {"Healthy", {}},
      {"HealthyOthersOn", {}, {0, 1, -0.8, 250, 12000, 0.9, 0.4, 0.041, 10e6, 0}},
      {"SignalOpen", One(kOpen, "clt_signal")},
      {"ContactOpen", One(kOpen, "IAT.1")},
      {"SharedSensorGroundOpen", One(kOpen, "sensor_ground")},
      {"SharedSensorGroundOpenAllOff",
       One(kOpen, "sensor_ground"),
       {0, 0, 0, 2100, 3300, 0.42, 2.7, 0.02, 10e6, 0}},
      {"ReferenceOpen", One(kOpen, "reference")},
      {"MainGroundOpen", One(kOpen, "main_minus")},
      {"CoilOpen", One(kOpen, "VRS.2")},
      {"SignalShortToGround", One(kShortToGround, "CLT.1", "", 0.1)},
      {"SignalShortToSupply", One(kShortToSupply, "MAP.3", "", 0.5)},
      {"ReferenceShortToGround", One(kShortToGround, "S_REF", "", 0.2)},
      {"TwoSignalsTogether", One(kShortTogether, "ECU.15", "ECU.17", 1)},
      {"GroundResistance", One(kSeriesResistance, "sensor_ground", "", 47)},
      {"SupplyResistanceStarvesHall", One(kSeriesResistance, "CKP.1", "", 4000)},
      {"Leakage", One(kLeakage, "IAT.1", "", 20e3)},
      {"LeakageBetween", One(kLeakage, "CLT.1", "S_SUP", 50e3)},
      {"CoilSwapped", One(kTerminalsSwapped, "VRS.1", "VRS.2")},
      {"HallSignalGroundSwappedOff", One(kTerminalsSwapped, "CMP.3", "CMP.2"), With(kCmp, 0)},
      {"HallSignalGroundSwappedOn", One(kTerminalsSwapped, "CMP.3", "CMP.2"), With(kCmp, 1)},
      {"HallSupplySignalSwapped", One(kTerminalsSwapped, "CMP.3", "CMP.1"), With(kCmp, 1)},
      {"HallSupplyGroundSwapped", One(kTerminalsSwapped, "CKP.1", "CKP.2")},
      {"RatiometricSupplyGroundSwapped", One(kTerminalsSwapped, "MAP.1", "MAP.2")},
      {"RatiometricSignalGroundSwapped", One(kTerminalsSwapped, "MAP.3", "MAP.2")},
      {"VoltageSupplySignalSwapped", One(kTerminalsSwapped, "OIL.1", "OIL.3")},
      {"ConnectorsSwapped", One(kConnectorsSwapped, "CMP", "MAP")},
      {"ConnectorsOfDifferentSizeSwapped", One(kConnectorsSwapped, "CLT", "OIL")},
      {"ControllerGroundOffset", One(kGroundOffset, "ECU.2", "", 0, 0.35)},
      {"SensorGroundOffset", One(kGroundOffset, "MAP.2", "", 0, -0.2)},
      {"NotFitted", One(kNotFitted, "air")},
      {"HallNotFitted", One(kNotFitted, "crank")},
      {"ThreeAtOnce", FaultList()
                          .Add(kTerminalsSwapped, "CKP.2", "CKP.3")
                          .Add(kOpen, "sensor_ground")
                          .Add(kShortTogether, "CLT.1", "EGT.1", 5)},
  };
}

class AgainstNgspice : public ::testing::TestWithParam<Case> {};

TEST_P(AgainstNgspice, EveryNodeAgrees) {
  Harness harness(CarBench(), GetParam().faults.pointers());
  std::vector<double> input_v(static_cast<std::size_t>(harness.input_count()));
  harness.Solve(GetParam().values, input_v);
  EXPECT_EQ(harness.unsettled_count(), 0);

  const support::NgspiceResult spice = support::RunNgspice(harness.Netlist());
  const std::vector<std::string> names = harness.NodeNames();
  ASSERT_GT(names.size(), 100u);
  std::map<std::string, double> by_name{{names[0], 0.0}};
  for (std::size_t n = 1; n < names.size(); ++n) {
    const auto found = spice.node_v.find("n" + std::to_string(n));
    ASSERT_NE(found, spice.node_v.end()) << spice.log;
    by_name[names[n]] = found->second;
    EXPECT_NEAR(harness.Voltage(names[n]), found->second, kToleranceV) << names[n];
  }

  const profile::Bench bench = CarBench();
  for (std::size_t i = 0; i < input_v.size(); ++i) {
    const profile::InputCircuit& input = bench.controller->inputs[i];
    const std::string& minus = input.minus.empty() ? bench.controller->ground : input.minus;
    EXPECT_NEAR(input_v[i], by_name[input.terminal] - by_name[minus], kToleranceV)
        << input.terminal;
  }
}

INSTANTIATE_TEST_SUITE_P(Networks, AgainstNgspice, ::testing::ValuesIn(Cases()),
                         [](const auto& param) { return std::string(param.param.name); });

// The comparison can fail: a deck with one resistor altered disagrees.
TEST(AgainstNgspiceItself, AnAlteredDeckDisagrees) {
  Harness harness(CarBench(), {});
  std::vector<double> input_v(static_cast<std::size_t>(harness.input_count()));
  harness.Solve(CarValues(), input_v);
  std::string deck = harness.Netlist();
  const std::size_t at = deck.find(" 2100\n");  // the coolant sensor
  ASSERT_NE(at, std::string::npos);
  deck.replace(at, 6, " 2110\n");
  const support::NgspiceResult spice = support::RunNgspice(deck);
  double worst_v = 0;
  const std::vector<std::string> names = harness.NodeNames();
  for (std::size_t n = 1; n < names.size(); ++n) {
    const double spice_v = spice.node_v.at("n" + std::to_string(n));
    worst_v = std::max(worst_v, std::abs(harness.Voltage(names[n]) - spice_v));
  }
  EXPECT_GT(worst_v, 50 * kToleranceV);  // 5 V * 2200 / 4300^2 per ohm: 5.9 mV for 10 ohm
}

}  // namespace
}  // namespace drycrank::harness
