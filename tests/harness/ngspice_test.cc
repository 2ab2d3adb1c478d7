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

namespace fault = profile::fault;
using support::FaultList;

constexpr double kToleranceV = 1e-4;

struct Case {
  const char* name;
  FaultList faults;
  std::vector<double> values = CarValues();
  double limit_ma = 0;  // of the 5 V reference
};

void PrintTo(const Case& shown, std::ostream* out) { *out << shown.name; }

std::vector<double> With(CarDevice device, double value) {
  std::vector<double> values = CarValues();
  values[static_cast<std::size_t>(device)] = value;
  return values;
}

FaultList One(const profile::FaultKind& kind, const std::string& at, const std::string& with = "") {
  FaultList list;
  list.Add(kind, at, with);
  return list;
}

std::vector<Case> Cases() {
  return {
      {"Healthy", {}},
      {"HealthyOthersOn", {}, {0, 1, -0.8, 250, 12000, 0.9, 0.4, 0.041, 10e6, 0}},
      {"SignalOpen", One(fault::Open{}, "clt_signal")},
      {"ContactOpen", One(fault::Open{}, "IAT.1")},
      {"SharedSensorGroundOpen", One(fault::Open{}, "sensor_ground")},
      {"SharedSensorGroundOpenAllOff",
       One(fault::Open{}, "sensor_ground"),
       {0, 0, 0, 2100, 3300, 0.42, 2.7, 0.02, 10e6, 0}},
      {"ReferenceOpen", One(fault::Open{}, "reference")},
      {"MainGroundOpen", One(fault::Open{}, "main_minus")},
      {"CoilOpen", One(fault::Open{}, "VRS.2")},
      {"SignalShortToGround", One(fault::ShortToGround{0.1}, "CLT.1")},
      {"SignalShortToSupply", One(fault::ShortToSupply{0.5}, "MAP.3")},
      {"ReferenceShortToGround", One(fault::ShortToGround{0.2}, "S_REF")},
      {"TwoSignalsTogether", One(fault::ShortTogether{1}, "ECU.15", "ECU.17")},
      {"GroundResistance", One(fault::SeriesResistance{47}, "sensor_ground")},
      {"SupplyResistanceStarvesHall", One(fault::SeriesResistance{4000}, "CKP.1")},
      {"Leakage", One(fault::Leakage{20e3}, "IAT.1")},
      {"LeakageBetween", One(fault::Leakage{50e3}, "CLT.1", "S_SUP")},
      {"CoilSwapped", One(fault::TerminalsSwapped{}, "VRS.1", "VRS.2")},
      {"HallSignalGroundSwappedOff", One(fault::TerminalsSwapped{}, "CMP.3", "CMP.2"),
       With(kCmp, 0)},
      {"HallSignalGroundSwappedOn", One(fault::TerminalsSwapped{}, "CMP.3", "CMP.2"),
       With(kCmp, 1)},
      {"HallSupplySignalSwapped", One(fault::TerminalsSwapped{}, "CMP.3", "CMP.1"), With(kCmp, 1)},
      {"HallSupplyGroundSwapped", One(fault::TerminalsSwapped{}, "CKP.1", "CKP.2")},
      {"RatiometricSupplyGroundSwapped", One(fault::TerminalsSwapped{}, "MAP.1", "MAP.2")},
      {"RatiometricSignalGroundSwapped", One(fault::TerminalsSwapped{}, "MAP.3", "MAP.2")},
      {"VoltageSupplySignalSwapped", One(fault::TerminalsSwapped{}, "OIL.1", "OIL.3")},
      {"ConnectorsSwapped", One(fault::ConnectorsSwapped{}, "CMP", "MAP")},
      {"ConnectorsOfDifferentSizeSwapped", One(fault::ConnectorsSwapped{}, "CLT", "OIL")},
      {"ControllerGroundOffset", One(fault::GroundOffset{0.35}, "ECU.2")},
      {"SensorGroundOffset", One(fault::GroundOffset{-0.2}, "MAP.2")},
      {"NotFitted", One(fault::NotFitted{}, "air")},
      {"HallNotFitted", One(fault::NotFitted{}, "crank")},
      {"ReferenceWithLimit", {}, CarValues(), 50},
      {"ReferenceWithLimitShortToGround", One(fault::ShortToGround{0.2}, "S_REF"), CarValues(), 100},
      {"ReferenceWithLimitLoaded", One(fault::ShortToGround{30}, "S_REF"), CarValues(), 100},
      {"ReferenceWithLimitShortToSupply", One(fault::ShortToSupply{20}, "S_REF"), CarValues(), 100},
      {"ThreeAtOnce", FaultList()
                          .Add(fault::TerminalsSwapped{}, "CKP.2", "CKP.3")
                          .Add(fault::Open{}, "sensor_ground")
                          .Add(fault::ShortTogether{5}, "CLT.1", "EGT.1")},
  };
}

class AgainstNgspice : public ::testing::TestWithParam<Case> {};

profile::Bench BenchOf(const Case& shown) {
  profile::Bench bench = CarBench();
  bench.controller->references[0].limit_ma = shown.limit_ma;
  return bench;
}

TEST_P(AgainstNgspice, EveryNodeAgrees) {
  Harness harness(BenchOf(GetParam()), GetParam().faults.pointers());
  std::vector<double> input_v(harness.input_count());
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
  std::vector<double> input_v(harness.input_count());
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
