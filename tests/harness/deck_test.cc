// SPDX-License-Identifier: Apache-2.0
//
// Benches against ngspice decks that were written by hand from the drawing in small_bench.h, not by
// Harness::Netlist: they check that bench and fault become the right network. No leak, and wires as
// one resistor from pin to pin: 49 mohm, to a splice 44 mohm.
#include <gtest/gtest.h>

#include <string>

#include "tests/harness/small_bench.h"
#include "tests/support/ngspice.h"

namespace drycrank::harness {
namespace {

namespace fault = profile::fault;
using support::FaultList;

constexpr double kToleranceV = 1e-4;

// Battery, controller and its sensor ground: bp battery plus, 0 its minus, ep and eg the
// controller's supply and ground, s the splice. Common to all decks; `contact` is BAT.1's wire end.
const char* const kCommon = R"(* hand-written
.options reltol=1e-7 vntol=1e-9 abstol=1e-14
Vbat cell 0 12
Rbat cell bp 20m
Rplugged bp contact 5m
Rplus contact ep 44m
Rminus 0 eg 49m
Recu ep eg 30
Rinside eg sg 20m
)";
const char* const kEnd = ".op\n.end\n";

double Across(const std::string& devices, const std::string& plus, const std::string& minus) {
  const support::NgspiceResult spice = support::RunNgspice(kCommon + devices + kEnd);
  EXPECT_TRUE(spice.node_v.contains(plus) && spice.node_v.contains(minus)) << spice.log;
  if (!spice.node_v.contains(plus) || !spice.node_v.contains(minus)) return -1e9;
  return spice.node_v.at(plus) - spice.node_v.at(minus);
}

TEST(HandDeck, TwoThermistors) {
  const std::string deck = R"(
Rground sg s 44m
V1 p1 eg 5
Rpull1 p1 in1 2200
Rin1 in1 eg 1meg
Rwire1 in1 a 49m
Rclt a b 2200
Rback1 b s 44m
V2 p2 eg 5
Rpull2 p2 in2 2200
Rin2 in2 eg 1meg
Rwire2 in2 c 49m
Riat c d 1000
Rback2 d s 44m
)";
  const std::vector<double> read = Readings(TwoNtcBench(), {2200, 1000});
  EXPECT_NEAR(read[0], Across(deck, "in1", "eg"), kToleranceV);
  EXPECT_NEAR(read[1], Across(deck, "in2", "eg"), kToleranceV);
}

TEST(HandDeck, ReferenceAndRatiometricSensorWithLeakyGround) {
  const std::string deck = R"(
Rground sg s 22.044
V1 ref eg 5
Rref ref out 0.2
Rwire1 out ms 49m
Rdraw ms mg 1000
Rback mg s 44m
Eout o mg ms mg 0.37
Rout o mo 50
Rwire2 mo in 49m
Rin in eg 1meg
)";
  const FaultList faults = FaultList().Add(fault::SeriesResistance{22}, "sensor_ground");
  EXPECT_NEAR(Readings(PressureBench(), {0.37}, faults)[0], Across(deck, "in", "eg"), kToleranceV);
}

// 5 V behind 0.244 ohm into 1.5 ohm: 4.3 V less what 2.8 A lift the controller's ground. Enough for
// the sensor's 3.5 V, and still its fraction of it.
TEST(HandDeck, ReferenceAlmostShortedToGround) {
  const std::string deck = R"(
Rground sg s 44m
V1 ref eg 5
Rref ref out 0.2
Rhalf out end 44m
Rshort end 0 1.5
Rplug end ms 5m
Rdraw ms mg 1000
Rback mg s 44m
Eout o mg ms mg 0.6
Rout o mo 50
Rwire2 mo in 49m
Rin in eg 1meg
)";
  const FaultList faults = FaultList().Add(fault::ShortToGround{1.5}, "MAP.1");
  EXPECT_NEAR(Readings(PressureBench(), {0.6}, faults)[0], Across(deck, "in", "eg"), kToleranceV);
}

// The Hall sensor's ground pin on the signal wire, its signal pin on the ground wire; diode 0.7 V,
// 1 ohm.
std::string HallSwapped(const char* transistor) {
  return std::string(R"(
Rground sg s 44m
V1 p eg 5
Rpull p in 1000
Rin in eg 1meg
Rwire1 in pin2 49m
Rwire2 s pin3 44m
Rwire3 contact pin1 44m
Rdraw pin1 pin2 1500
Bdiode pin2 pin3 I = V(pin2,pin3) > 0.7 ? V(pin2,pin3) - 0.7 : 0
Rtransistor pin3 pin2 )") +
         transistor + "\n";
}

TEST(HandDeck, HallSignalAndGroundSwapped) {
  const FaultList faults = FaultList().Add(fault::TerminalsSwapped{}, "CMP.2", "CMP.3");
  EXPECT_NEAR(Readings(HallBench(), {0}, faults)[0], Across(HallSwapped("5meg"), "in", "eg"),
              kToleranceV);
  EXPECT_NEAR(Readings(HallBench(), {1}, faults)[0], Across(HallSwapped("25"), "in", "eg"),
              kToleranceV);
}

// Plus of the coil leaks to the battery through 5 kohm; both inputs have 100 kohm to the
// controller's ground.
TEST(HandDeck, CoilWithOneLeadLeakingToSupply) {
  const std::string deck = R"(
Rground sg s 44m
Ecoil plus mid emf 0 1
Vemf emf 0 1.3
Rcoil mid minus 900
Rwire1 plus in1 49m
Rwire2 minus in2 49m
Rleak plus bp 5k
Rin in1 in2 10k
Rb1 in1 eg 100k
Rb2 in2 eg 100k
)";
  const FaultList faults = FaultList().Add(fault::ShortToSupply{5000}, "CKP.1");
  EXPECT_NEAR(Readings(CoilBench(), {1.3}, faults)[0], Across(deck, "in1", "in2"), kToleranceV);
}

}  // namespace
}  // namespace drycrank::harness
