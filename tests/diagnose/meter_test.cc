// SPDX-License-Identifier: Apache-2.0
//
// What a meter shows on the kart's bench: by hand from its wires and parts, and by ngspice.
#include "diagnose/meter.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>

#include "harness/netlist.h"
#include "profile/load.h"
#include "tests/support/ngspice.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;
using profile::Fault;

class MeterTest : public testing::Test {
 protected:
  Probing At(Meter meter, const std::string& plus, const std::string& minus = "") const {
    Probing probing{meter, plus, minus, {}, RestOf(bench_)};
    if (meter == Meter::kOhms) probing.pulled = {"CU"};
    return probing;
  }
  double Shows(const Probing& probing, const std::vector<Fault>& faults = {}) const {
    return FromScale(probing.meter, model_.Expect(probing, faults).y);
  }
  double NgspiceShows(const Probing& probing, const std::vector<Fault>& faults = {}) const {
    const Metered metered = model_.Connect(probing, faults);
    const auto solved =
        support::RunNgspice(harness::FormatNetlist(metered.topology, metered.values));
    EXPECT_FALSE(solved.node_v.empty()) << solved.log;
    const auto volts = [&](int node) {
      return node == 0 ? 0.0 : solved.node_v.at(fmt::format("n{}", node));
    };
    return DialOf(probing.meter, volts(metered.across.plus) - volts(metered.across.minus));
  }
  static Fault Make(const profile::FaultKind& kind, const std::string& at) {
    Fault fault;
    fault.kind = kind;
    fault.at = at;
    return fault;
  }

  profile::Bench bench_ = *profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/kart.yaml").bench;
  MeterModel model_{bench_};
};

// 12.49 kohm at 20 °C (the part's own equation: 1/293.15 = a + b ln R + c (ln R)^3), in parallel with
// the meter's 10 Mohm 12.48; behind 2.2 kohm from 5 V: 5 x 12.48 / 14.68 = 4.251 V. The controller's
// ground lies 0.42 A x 28 mohm = 12 mV above the battery's minus.
TEST_F(MeterTest, VoltsAtAThermistor) {
  EXPECT_NEAR(Shows(At(Meter::kVolts, "HT.1~")), 4.263, 0.01);
}

// 0.8 m of 0.34 mm2 at 53 mohm a metre; the sensor's own 12.49 kohm at its pins.
TEST_F(MeterTest, OhmsOfAWireAndOfASensor) {
  EXPECT_NEAR(Shows(At(Meter::kOhms, "HT.1~", "CU.7~")), 0.042, 0.002);
  Probing device = At(Meter::kOhms, "HT.1", "HT.2");
  device.pulled.push_back("HT");
  EXPECT_NEAR(Shows(device), 12493, 20);
  EXPECT_TRUE(std::isinf(Shows(device, {Make(fault::NotFitted{}, "head")})));
}

TEST_F(MeterTest, ABrokenWireShowsOpen) {
  const Probing along = At(Meter::kOhms, "HT.1~", "CU.7~");
  EXPECT_TRUE(std::isinf(Shows(along, {Make(fault::Open{}, "head_signal")})));
  EXPECT_EQ(InWords(Meter::kOhms, INFINITY), "open (more than 2 MΩ)");
  EXPECT_EQ(InWords(Meter::kOhms, 999.7e3), "1 MΩ");
}

// Controller 12.6 V / 30 ohm = 0.42 A, three Hall outputs 12.6 V / 1500 ohm = 8.4 mA each: 0.445 A,
// less half a per cent for the wires.
TEST_F(MeterTest, AmperesThroughTheSupply) {
  EXPECT_NEAR(std::abs(Shows(At(Meter::kAmperes, "BT.1~"))), 0.443, 0.004);
  EXPECT_NEAR(Shows(At(Meter::kAmperes, "BT.1~"), {Make(fault::Open{}, "CU.1")}), 0.025, 0.003);
}

// Its supply contact open, a controller gives no 5 V and pulls nothing up: nothing is left that could
// lift the thermistor's wire.
TEST_F(MeterTest, AControllerWithoutSupplyPullsNothingUp) {
  const std::string supply = bench_.controller->supply;
  EXPECT_NEAR(Shows(At(Meter::kVolts, "HT.1~"), {Make(fault::Open{}, supply)}), 0, 0.05);
  EXPECT_GT(Shows(At(Meter::kVolts, "HT.1~"), {Make(fault::Open{}, "HT.2")}), 4.5);
}

// Every pin and splice, with and without a fault of each kind, against a network of ngspice's.
TEST_F(MeterTest, IsWhatNgspiceComputes) {
  const std::vector<std::vector<Fault>> worlds = {{},
                                                  {Make(fault::Open{}, "head_ground")},
                                                  {Make(fault::SeriesResistance{400}, "TH.1")},
                                                  {Make(fault::Leakage{3300}, "CU.10")}};
  int compared = 0;
  for (const std::vector<Fault>& faults : worlds) {
    for (const profile::Connector& connector : bench_.connectors) {
      const std::string node = connector.name + "." + connector.pins.back() + "~";
      EXPECT_NEAR(Shows(At(Meter::kVolts, node), faults),
                  NgspiceShows(At(Meter::kVolts, node), faults), 1e-3)
          << node;
      const Probing ohms = At(Meter::kOhms, node, "G");
      const double ours = Shows(ohms, faults), theirs = NgspiceShows(ohms, faults);
      EXPECT_EQ(std::isinf(ours), std::isinf(theirs)) << node;
      if (!std::isinf(ours)) {
        EXPECT_NEAR(ours, theirs, 0.01 + 0.002 * theirs) << node;
      }
      ++compared;
    }
  }
  EXPECT_EQ(compared, 48);
}

// A fault must move what it lies in, or the check above could pass by looking at nothing.
TEST_F(MeterTest, AFaultMovesItsReadingAndTheSupplyItsSpread) {
  const Probing head = At(Meter::kVolts, "HT.2~");
  EXPECT_LT(Shows(head), 0.1);
  EXPECT_GT(Shows(head, {Make(fault::Open{}, "head_ground")}), 4.5);
  // 1 V of tolerance is 2.5 deviations: 0.4 V; and 1 % of 12.6 V and 20 mV of the meter: 0.43 V.
  EXPECT_NEAR(model_.Expect(At(Meter::kVolts, "P"), {}).sigma, 0.43, 0.03);
  EXPECT_LT(model_.Expect(At(Meter::kVolts, "HT.1~"), {}).sigma, 0.12);
}

}  // namespace
}  // namespace drycrank::diagnose
