// SPDX-License-Identifier: Apache-2.0
//
// Who hears whom on a pair of wires. Levels, thresholds and resistances:
// tests/reference/can_bus.yaml (ISO 11898-2, as quoted in transceiver data sheets); the rest worked
// by hand beside each test.
//
//   controller ECU.7/8, 120 ohm --- S_H/S_L --- display D.3/4, 120 ohm
//                                    |
//                                    keypad K.3/4
#include "harness/bus_pairs.h"

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "harness/bus_pins.h"
#include "harness/harness.h"
#include "tests/harness/small_bench.h"
#include "tests/support/ngspice.h"

namespace drycrank::harness {
namespace {

using profile::Fault;
namespace fault = profile::fault;

constexpr int kController = 0, kDisplay = 1, kKeypad = 2;

class Pair : public ::testing::Test {
 protected:
  Pair() {
    support::BenchBuilder b = SmallBench();
    b.Connector("D", 4).Connector("K", 4).Splice("S_H").Splice("S_L");
    b.Wire("can_h_ecu", "ECU.7", "S_H").Wire("can_l_ecu", "ECU.8", "S_L");
    b.Wire("can_h_display", "S_H", "D.3").Wire("can_l_display", "S_L", "D.4");
    b.Wire("can_h_keypad", "S_H", "K.3").Wire("can_l_keypad", "S_L", "K.4");
    b.Wire("display_supply", "BAT.1", "D.1").Wire("display_ground", "BAT.2", "D.2");
    bench_ = b.Build();
    bench_.loads.push_back({"display", "D.1", "D.2", 40});
    profile::Bus& bus = bench_.buses.emplace_back();
    bus.name = "vehicle";
    bus.nodes = {{"ecu", "ECU.7", "ECU.8", 120, {}},
                 {"display", "D.3", "D.4", 120, {}},
                 {"keypad", "K.3", "K.4", 0, {}}};
  }

  template <class Kind>
  Fault& Put(const std::string& at, const Kind& kind) {
    Fault& fault = faults_.emplace_back();
    fault.at = at;
    fault.kind = kind;
    return fault;
  }
  void Open(const std::string& at) { Put(at, fault::Open{}); }
  void Termination(const std::string& at, double ohm) { Put(at, fault::Termination{ohm}); }
  void Together(const std::string& at, const std::string& with) {
    Put(at, fault::ShortTogether{0.1}).with = with;
  }
  void Swap(const std::string& at, const std::string& with) {
    Put(at, fault::TerminalsSwapped{}).with = with;
  }

  BusPair Made(std::vector<bool> sends = {true, true, false}) const {
    std::vector<const Fault*> pointers;
    for (const Fault& fault : faults_) pointers.push_back(&fault);
    return BusPair(bench_, bench_.buses[0], pointers, sends);
  }
  // As a change of the healthy network (bus_pins.h).
  BusPair MadeOf(BusNetwork& healthy, std::vector<bool> sends = {true, true, false}) const {
    std::vector<const Fault*> pointers;
    for (const Fault& fault : faults_) pointers.push_back(&fault);
    return BusPair(bench_.buses[0], healthy.With(pointers)[0], sends);
  }

  profile::Bench bench_;
  std::vector<Fault> faults_;
};

TEST_F(Pair, TheNodesAreToldByTheirPlugAndTheirName) {
  EXPECT_EQ(ControllerNode(bench_, bench_.buses[0]), kController);
  EXPECT_EQ(DisplayNode(bench_.buses[0]), kDisplay);
  bench_.buses[0].nodes.clear();
  EXPECT_EQ(ControllerNode(bench_, bench_.buses[0]), kTap);
  EXPECT_EQ(DisplayNode(bench_.buses[0]), kTap);
}

// typical_dominant_V: 3.5 and 1.5; typical_recessive_V: 2.5 and 2.5; bus_resistance_ohm: 60. The
// three transceivers' 50 kohm across take 0.2 ohm of it, the wires give some back.
TEST_F(Pair, InOrderItHasTheTypicalLevels) {
  const BusPair pair = Made();
  EXPECT_NEAR(pair.At(kDisplay, kController).high_v, 3.5, 0.02);
  EXPECT_NEAR(pair.At(kDisplay, kController).low_v, 1.5, 0.02);
  EXPECT_NEAR(pair.Recessive(kKeypad).high_v, 2.5, 0.01);
  EXPECT_NEAR(pair.Recessive(kKeypad).low_v, 2.5, 0.01);
  EXPECT_NEAR(pair.OhmAcross(kTap), 60, 1);
  for (const int from : {kController, kDisplay, kKeypad, kTap}) {
    for (const int to : {kController, kDisplay, kKeypad, kTap}) EXPECT_TRUE(pair.Hears(from, to));
  }
}

// bus_resistance_ohm, one_terminator_missing: 120. It still works on short wires (common practice,
// no source): 3.6 V * 120 / (120 + 48) = 2.57 V.
TEST_F(Pair, OneTerminationMissingReads120AndIsHeard) {
  bench_.buses[0].nodes[1].termination_ohm = 0;
  const BusPair pair = Made();
  EXPECT_NEAR(pair.OhmAcross(kTap), 120, 1);
  EXPECT_NEAR(pair.At(kTap, kController).Across(), 2.57, 0.03);
  EXPECT_TRUE(pair.Hears(kController, kDisplay));
}

// 120 / 3. 3.6 V * 40 / (40 + 48) = 1.64 V: still above 0.9 V.
TEST_F(Pair, AThirdTerminationReads40AndIsHeard) {
  bench_.buses[0].nodes[2].termination_ohm = 120;
  const BusPair pair = Made();
  EXPECT_NEAR(pair.OhmAcross(kTap), 40, 1);
  EXPECT_NEAR(pair.At(kTap, kController).Across(), 1.64, 0.03);
  EXPECT_TRUE(pair.Hears(kController, kDisplay));
}

// As a fault: one missing 120, a third 120 / 3 = 40, 1 kohm for 120: 120 * 1000 / 1120 = 107. All
// are heard: of 1 kohm alone (display's 120 missing too) the pair's 700 pF fade in half of a bit of
// 1 us: 943 ohm * 700 pF * ln(3.6 * 943 / 991 / 0.5) = 1.3 us, and are not.
TEST_F(Pair, AFaultOfATerminationIsReadByTheMeter) {
  Termination("vehicle.display", 0);
  EXPECT_NEAR(Made().OhmAcross(kTap), 120, 1);
  EXPECT_TRUE(Made().Hears(kController, kDisplay));
  faults_.clear();
  Termination("vehicle.keypad", 120);
  EXPECT_NEAR(Made().OhmAcross(kTap), 40, 1);
  EXPECT_TRUE(Made().Hears(kController, kDisplay));
  faults_.clear();
  Termination("vehicle.ecu", 1000);
  EXPECT_NEAR(Made().OhmAcross(kTap), 107, 1);
  EXPECT_TRUE(Made().Hears(kController, kDisplay));
  Termination("vehicle.display", 0);
  EXPECT_FALSE(Made().Hears(kController, kDisplay));
}

// As below, by faults.
TEST_F(Pair, WithBothTerminationsMissingNothingIsHeard) {
  Termination("vehicle.ecu", 0);
  Termination("vehicle.display", 0);
  EXPECT_NEAR(Made().OhmAcross(kTap), 50e3 / 3, 100);
  EXPECT_FALSE(Made().Hears(kController, kDisplay));
}

// 50 kohm / 3 and 700 pF: a time constant of 12 us, where half a bit has 1 us.
TEST_F(Pair, WithoutAnyTerminationNothingIsHeard) {
  for (profile::BusNode& node : bench_.buses[0].nodes) node.termination_ohm = 0;
  const BusPair pair = Made();
  EXPECT_NEAR(pair.OhmAcross(kTap), 50e3 / 3, 100);
  EXPECT_FALSE(pair.Hears(kController, kDisplay));
}

TEST_F(Pair, AnOpenWireMakesItsNodeDeafAndMute) {
  Open("can_h_display");
  const BusPair pair = Made();
  EXPECT_FALSE(pair.Hears(kController, kDisplay));
  EXPECT_FALSE(pair.Hears(kDisplay, kTap));
  EXPECT_TRUE(pair.Hears(kController, kTap));
  EXPECT_TRUE(pair.Hears(kController, kKeypad));
  EXPECT_NEAR(pair.OhmAcross(kTap), 120, 1);
}

// Of a node without a termination the loose pin stays at 2.5 V: 2.5 - 1.5 = 1.0 V, above 0.9 V and
// with no margin.
TEST_F(Pair, ALoosePinWithoutTerminationIsNotTrusted) {
  Open("can_h_keypad");
  const BusPair pair = Made();
  EXPECT_NEAR(pair.At(kKeypad, kController).Across(), 1.0, 0.05);
  EXPECT_FALSE(pair.Hears(kController, kKeypad));
  EXPECT_TRUE(pair.Hears(kController, kDisplay));
}

// The tap sits behind the controller's plug: it hears what the display sends, and both hear nothing
// of the controller.
TEST_F(Pair, TheControllersPinPushedOutSilencesTheController) {
  Open("ECU.7");
  const BusPair pair = Made();
  EXPECT_FALSE(pair.Hears(kController, kTap));
  EXPECT_FALSE(pair.Hears(kController, kDisplay));
  EXPECT_TRUE(pair.Hears(kDisplay, kTap));
}

TEST_F(Pair, JoinedWiresSilenceAll) {
  Together("can_h_ecu", "can_l_ecu");
  faults_[0].at = "S_H", faults_[0].with = "S_L";
  const BusPair pair = Made();
  EXPECT_LT(pair.OhmAcross(kTap), 5);  // hw-notes/can-wiring.md
  EXPECT_FALSE(pair.Hears(kController, kDisplay));
  EXPECT_FALSE(pair.Hears(kDisplay, kTap));
}

TEST_F(Pair, CanHighAtGroundIsSilentAndCanLowAtGroundIsNot) {
  Put("S_H", fault::ShortToGround{0.1});
  EXPECT_FALSE(Made().Hears(kController, kDisplay));
  faults_[0].at = "S_L";
  EXPECT_TRUE(Made().Hears(kController, kDisplay));
}

// receiver_common_mode_V: no more than 7.
TEST_F(Pair, AWireAtTheSupplySilencesAll) {
  for (const char* wire : {"S_H", "S_L"}) {
    faults_.clear();
    Put(wire, fault::ShortToSupply{0.1});
    EXPECT_FALSE(Made().Hears(kController, kDisplay)) << wire;
  }
}

// can-wiring.md: -2.0 V at the crossed node, resistance right.
TEST_F(Pair, ACrossedListenerIsDeafAndDisturbsNobody) {
  Swap("D.3", "D.4");
  const BusPair pair = Made({true, false, false});
  EXPECT_NEAR(pair.At(kDisplay, kController).Across(), -2.0, 0.03);
  EXPECT_NEAR(pair.OhmAcross(kTap), 60, 1);
  EXPECT_FALSE(pair.Hears(kController, kDisplay));
  EXPECT_TRUE(pair.Hears(kController, kTap));
}

TEST_F(Pair, ACrossedNodeThatSendsSpoilsTheBus) {
  Swap("D.3", "D.4");
  const BusPair pair = Made({true, true, false});
  EXPECT_FALSE(pair.Hears(kController, kTap));
  EXPECT_FALSE(pair.Hears(kController, kKeypad));
}

TEST_F(Pair, WithoutItsSupplyADisplayIsDark) {
  Open("display_supply");
  const BusPair pair = Made();
  EXPECT_FALSE(pair.IsPowered(kDisplay));
  EXPECT_FALSE(pair.Hears(kController, kDisplay));
  EXPECT_TRUE(pair.Hears(kController, kTap));
}

// ISO 11898-1, fault confinement (from memory): a node that nobody acknowledges stays error passive,
// one that does not read back its own bits goes bus off.
TEST_F(Pair, ASenderThatIsNotAcknowledgedIsErrorPassive) {
  EXPECT_EQ(Made().StateOf(kController), ErrorState::kActive);
  Open("can_h_ecu");  // the tap, behind its plug, acknowledges it
  EXPECT_EQ(Made().StateOf(kController), ErrorState::kActive);
  Open("ECU.7");
  EXPECT_EQ(Made().StateOf(kController), ErrorState::kPassive);
  EXPECT_EQ(Made().StateOf(kDisplay), ErrorState::kActive);
}

// 3.6 V * 0.1 / 48.1 = 7 mV between joined wires: no bit of its own comes back.
TEST_F(Pair, ASenderThatDoesNotReadItselfGoesBusOff) {
  Together("S_H", "S_L");
  EXPECT_EQ(Made().StateOf(kController), ErrorState::kBusOff);
  EXPECT_EQ(Made().StateOf(kDisplay), ErrorState::kBusOff);
}

// The crossed one reads itself, 2 V at its own pins, and is never answered.
TEST_F(Pair, ACrossedSenderIsErrorPassiveAndTheOthersGoBusOff) {
  Swap("D.3", "D.4");
  EXPECT_EQ(Made().StateOf(kDisplay), ErrorState::kPassive);
  EXPECT_EQ(Made().StateOf(kController), ErrorState::kBusOff);
}

// What is off counts nothing.
TEST_F(Pair, WithoutSupplyNothingIsCounted) {
  Open("display_supply");
  EXPECT_EQ(Made().StateOf(kDisplay), ErrorState::kActive);
}

// Nobody answers a node that is alone.
TEST_F(Pair, AloneItIsNotAnswered) {
  Open("can_h_ecu");
  Open("can_l_ecu");
  EXPECT_FALSE(Made().Hears(kController, kDisplay));
  EXPECT_TRUE(Made().Hears(kDisplay, kKeypad));
}

// The same by ngspice (a general-purpose circuit simulator), its deck written by hand: a contact
// and a metre of wire are 44 mohm, the switches are diodes with a knee of a millivolt.
constexpr const char* kDeck = R"(pair of a bus, the controller dominant
reh eh sh 0.044
rel el sl 0.044
rsh sh dh DISPLAY_HIGH
rsl sl dl 0.044
rkh sh kh 0.044
rkl sl kl 0.044
te eh el 120
td dh dl DISPLAY_OHM
FAULT
vr rec 0 2.5
beh eh rec 25k
bel el rec 25k
bdh dh rec 25k
bdl dl rec 25k
bkh kh rec 25k
bkl kl rec 25k
vh up 0 4.3
vl down 0 0.7
dh up h1 knee
rh h1 eh 24
dl l1 down knee
rl el l1 24
vb bat 0 12
.model knee d(n=0.001)
.op
.end
)";

std::string DeckWith(const std::string& high_ohm, const std::string& fault,
                     const std::string& display_ohm) {
  std::string deck = kDeck;
  const auto put = [&](const std::string& mark, const std::string& text) {
    deck.replace(deck.find(mark), mark.size(), text);
  };
  put("DISPLAY_HIGH", high_ohm);
  put("FAULT", fault);
  put("DISPLAY_OHM", display_ohm);
  // A resistor's name begins with r.
  for (const char* name : {"te ", "td ", "beh ", "bel ", "bdh ", "bdl ", "bkh ", "bkl "}) {
    put(std::string("\n") + name, std::string("\nr") + name);
  }
  return deck;
}

TEST_F(Pair, ItsLevelsAreThoseOfNgspice) {
  struct Case {
    const char* name;
    std::string high_ohm, fault;
    profile::FaultKind kind;
    std::string at, with;
    std::string display_ohm = "120";
  };
  const std::vector<Case> cases = {
      {"display open", "1g", "* none", fault::Open{}, "can_h_display", ""},
      {"low at ground", "0.044", "rf sl 0 0.5", fault::ShortToGround{0.5}, "S_L", ""},
      {"high at ground", "0.044", "rf sh 0 0.5", fault::ShortToGround{0.5}, "S_H", ""},
      {"high at 12 V", "0.044", "rf sh bat 20", fault::ShortToSupply{20}, "S_H", ""},
      {"joined", "0.044", "rf sh sl 0.5", fault::ShortTogether{0.5}, "S_H", "S_L"},
      {"a leak", "0.044", "rf sl 0 200", fault::Leakage{200}, "S_L", ""},
      {"no termination", "0.044", "* none", fault::Termination{0}, "vehicle.display", "", "1g"},
      {"a third", "0.044", "rf kh kl 120", fault::Termination{120}, "vehicle.keypad", ""},
      {"of 1 kohm", "0.044", "* none", fault::Termination{1e3}, "vehicle.display", "", "1k"},
  };
  support::Ngspice ngspice;
  BusNetwork healthy(bench_);
  for (const Case& c : cases) {
    faults_.clear();
    Put(c.at, c.kind).with = c.with;
    const support::NgspiceResult solved = ngspice.Solve(DeckWith(c.high_ohm, c.fault, c.display_ohm));
    ASSERT_FALSE(solved.node_v.empty()) << c.name << solved.log;
    const BusPair made = Made(), changed = MadeOf(healthy);
    const struct {
      int node;
      const char *high, *low;
    } nodes[] = {{kController, "eh", "el"}, {kDisplay, "dh", "dl"}, {kKeypad, "kh", "kl"}};
    for (const BusPair* pair : {&made, &changed}) {
      for (const auto& at : nodes) {
        const BusPair::Levels& levels = pair->At(at.node, kController);
        EXPECT_NEAR(levels.high_v, solved.node_v.at(at.high), 0.02) << c.name;
        EXPECT_NEAR(levels.low_v, solved.node_v.at(at.low), 0.02) << c.name;
      }
    }
  }
}

// What has more ports, a known current, or takes a supply away: two ways of solving one network.
TEST_F(Pair, AChangeOfTheHealthyNetworkSaysWhatANetworkOfItsOwnSays) {
  std::vector<std::vector<Fault>> cases(1);
  const auto add = [&](const auto& put) {
    faults_.clear();
    put();
    cases.push_back(faults_);
  };
  add([&] { Swap("D.3", "D.4"); });
  add([&] { Put("D", fault::NotPlugged{}); });
  add([&] { Open("display_supply"); });
  add([&] { Put("D.1", fault::SeriesResistance{39}); });  // 40 ohm of 12 V: 6.1 V
  add([&] { Put("D.1", fault::SeriesResistance{41}); });  // 5.9 V
  add([&] { Put("D.3", fault::GroundOffset{1.5}); });
  add([&] { Open("can_h_ecu"), Put("S_L", fault::ShortToGround{5}); });
  add([&] { Open("D.3"), Put("D.3", fault::SeriesResistance{5}); });  // no form as an edit
  BusNetwork healthy(bench_);
  for (std::size_t c = 0; c < cases.size(); ++c) {
    faults_ = cases[c];
    const BusPair made = Made(), changed = MadeOf(healthy);
    EXPECT_EQ(changed.IsPowered(kDisplay), c != 2 && c != 3 && c != 5) << c;
    for (const int from : {kController, kDisplay, kKeypad, kTap}) {
      EXPECT_EQ(changed.StateOf(from), made.StateOf(from)) << c;
      EXPECT_EQ(changed.IsPowered(from), made.IsPowered(from)) << c;
      EXPECT_NEAR(changed.OhmAcross(from) / made.OhmAcross(from), 1, 1e-6) << c;
      for (const int to : {kController, kDisplay, kKeypad, kTap}) {
        EXPECT_EQ(changed.Hears(from, to), made.Hears(from, to)) << c;
        EXPECT_NEAR(changed.At(to, from).high_v, made.At(to, from).high_v, 1e-6) << c;
        EXPECT_NEAR(changed.At(to, from).low_v, made.At(to, from).low_v, 1e-6) << c;
      }
    }
  }
}

}  // namespace
}  // namespace drycrank::harness
