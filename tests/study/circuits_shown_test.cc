// SPDX-License-Identifier: Apache-2.0
//
// What a walk says of circuits, on the shipped hill-climb bench (invented) and edits of it, with
// faults that the evidence is not told. Which circuits a fault concerns is read from the wires of
// the file.
#include "study/circuits_shown.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <functional>
#include <sstream>

#include "profile/load.h"
#include "study/play.h"
#include "study/walk_answers.h"
#include "tests/support/scratch_folder.h"
#include "types/clock.h"
#include "walk/walk.h"

namespace drycrank::study {
namespace {

using check::CircuitState;
using check::Gap;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::IsSupersetOf;
using testing::UnorderedElementsAre;

class EvidenceTest : public testing::Test {
 protected:
  explicit EvidenceTest(const std::string& bench = "hill_climb") {
    std::ifstream file(DRYCRANK_PROFILES_DIR "/benches/" + bench + ".yaml");
    std::stringstream text;
    text << file.rdbuf();
    text_ = text.str();
    Change("../parts/", DRYCRANK_PROFILES_DIR "/parts/");
  }
  // Everywhere; it must be there.
  void Change(const std::string& from, const std::string& to) {
    ASSERT_NE(text_.find(from), std::string::npos) << from;
    for (std::size_t at = 0; (at = text_.find(from, at)) != std::string::npos; at += to.size()) {
      text_.replace(at, from.size(), to);
    }
  }
  const profile::Bench& Bench() {
    if (!loaded_.bench) {
      std::ofstream(folder_.path() / "bench.yaml") << text_;
      loaded_ = profile::LoadBench((folder_.path() / "bench.yaml").string());
      for (const Diagnostic& problem : loaded_.problems) ADD_FAILURE() << Format(problem);
    }
    return *loaded_.bench;
  }
  // A walk with these faults put in for practice; `told`: what the stand-in has been told instead.
  void Walk(const std::vector<std::string>& faults, const profile::Bench* told = nullptr,
            bool real_controller = false) {
    walk_ = real_controller ? walk::MakeWalk(Bench(), walk::ReachOfReal(Bench(), false))
                            : walk::MakeWalk(Bench());
    scenario_ = walk_.scenario;
    for (const std::string& fault : faults) {
      profile::ParsedFault parsed = profile::ParseFault(Bench(), fault);
      ASSERT_TRUE(parsed.fault.has_value()) << fault;
      scenario_.faults.push_back(*parsed.fault);
    }
    VirtualClock clock;
    PlayOptions options;
    options.clock = &clock;
    options.pictures = options.weigh = false;
    if (real_controller) options.run.controller = options.run.display = false;
    report_ = Play(told != nullptr ? *told : Bench(), scenario_, options).report;
    report_.bench = &Bench();
    AddAnswers(walk_, {}, {}, scenario_, report_);
  }
  const check::CircuitCoverage& Circuit(const std::string& name) const {
    const auto at = std::ranges::find(report_.coverage, name, &check::CircuitCoverage::circuit);
    if (at == report_.coverage.end()) std::abort();
    return *at;
  }
  std::vector<std::string> In(CircuitState state) const {
    std::vector<std::string> names;
    for (const auto& c : report_.coverage) {
      if (c.state == state) names.push_back(c.circuit);
    }
    return names;
  }
  std::vector<std::string> Proven() const { return In(CircuitState::kProven); }
  std::vector<std::string> Failed() const { return In(CircuitState::kFailed); }

  std::string text_;
  ScratchFolder folder_;
  profile::LoadedBench loaded_;
  walk::Walk walk_;
  profile::Scenario scenario_;
  report::Report report_;
};

TEST_F(EvidenceTest, AHealthyBenchIsProvenWhole) {
  Walk({});
  EXPECT_EQ(Proven().size(), 34u);
  // By the file: open, the pull-up takes the input to 5 V, above high_v, and the channel falls back
  // on 80 degC; at rest the coolant stands elsewhere.
  EXPECT_THAT(Circuit("coolant_signal").proofs.front().would, HasSubstr("80"));
  EXPECT_GT(Circuit("coolant_signal").proofs.front().margin, 0);
}

// The second ground of the controller, by a splice: one of the two broken moves nothing.
class TwoGroundsTest : public EvidenceTest {
 protected:
  TwoGroundsTest() {
    Change("- {circuit: ground, from: S_0V, to: BAT.2,",
           "- {circuit: ground_2, from: ECU.5, to: S_0V}\n"
           "  - {circuit: main_ground, from: S_0V, to: BAT.2,");
    Change("  ground: ECU.2\n", "  ground: ECU.2\n  more_grounds: [ECU.5]\n");
  }
};

TEST_F(TwoGroundsTest, NeitherOfTwoGroundsIsProven) {
  for (const char* open : {"", "{kind: open, at: ground}", "{kind: open, at: ground_2}"}) {
    Walk(open[0] == '\0' ? std::vector<std::string>{} : std::vector<std::string>{open});
    for (const char* circuit : {"ground", "ground_2"}) {
      EXPECT_EQ(Circuit(circuit).state, CircuitState::kNotShown) << open;
      EXPECT_EQ(Circuit(circuit).gap, Gap::kAnotherWay) << open;
    }
    EXPECT_EQ(Circuit("main_ground").state, CircuitState::kProven);
    EXPECT_EQ(Proven().size(), 34u);
  }
}

TEST_F(TwoGroundsTest, WithTheCommonGroundOpenItAndTheSupplyAreSuspected) {
  Walk({"{kind: open, at: main_ground}"});
  EXPECT_THAT(Failed(), UnorderedElementsAre("supply", "main_ground"));
  EXPECT_THAT(Proven(), IsEmpty());
}

TEST_F(EvidenceTest, AFaultThatBeginsAfterTheEndIsSaidToBeNone) {
  Walk({"{kind: open, at: BAT.1, from_s: 100}"});
  EXPECT_THAT(report_.notes, testing::Contains(HasSubstr("was never there")));
}

// Either carries what the other does: only both open move anything.
TEST_F(EvidenceTest, TwoSensorGroundsBothOpenFailTogether) {
  Change("- {circuit: sensor_ground, from: ECU.3, to: S_GND,",
         "- {circuit: sensor_ground_2, from: ECU.6, to: S_GND}\n"
         "  - {circuit: sensor_ground, from: ECU.3, to: S_GND,");
  Change("sensor_grounds: [ECU.3]", "sensor_grounds: [ECU.3, ECU.6]");
  Walk({"{kind: open, at: ECU.3}", "{kind: open, at: ECU.6}"});
  EXPECT_THAT(Failed(), UnorderedElementsAre("sensor_ground", "sensor_ground_2"));
}

// Pins of the controller on a second plug are its pins as before.
TEST_F(EvidenceTest, ASecondPlugOfTheControllerIsProvenToo) {
  Change("terminal: ECU.4,", "terminal: EC2.2,");
  Change("from: ECU.4,", "from: EC2.2,");
  Change("from: ECU.3,", "from: EC2.1,");
  Change("sensor_grounds: [ECU.3]", "sensor_grounds: [EC2.1]");
  Change("  CKP: {label", "  EC2: {label: Second plug, pins: 2}\n  CKP: {label");
  Walk({});
  EXPECT_EQ(Proven().size(), 34u);
}

TEST_F(EvidenceTest, AnOpenWireFailsWithTheOtherWireOfItsSensor) {
  Walk({"{kind: open, at: coolant_signal}"});
  EXPECT_THAT(Failed(), UnorderedElementsAre("coolant_signal", "coolant_ground"));
  EXPECT_EQ(Proven().size(), 32u);
}

// One broken feed explains what three broken wires behind it would explain one by one.
TEST_F(EvidenceTest, ABrokenFeedClearsWhatIsBehindIt) {
  Walk({"{kind: open, at: sensor_5v}"});
  EXPECT_THAT(Failed(), UnorderedElementsAre("sensor_5v"));
  EXPECT_EQ(Circuit("manifold_signal").gap, Gap::kRepairFirst);
  Walk({"{kind: open, at: sensor_ground}"});
  EXPECT_THAT(Failed(), UnorderedElementsAre("sensor_ground"));
}

TEST_F(EvidenceTest, EachCircuitBrokenInTurnIsNeverProven) {
  for (const std::string circuit :
       {"supply", "ground", "crank_plus", "crank_minus", "cam_supply", "cam_ground", "cam_signal",
        "manifold_5v", "throttle_ground", "oil_pressure_signal", "wheel_speed_supply",
        "wheel_speed_signal", "fuel_ground", "fuel_signal"}) {
    Walk({"{kind: open, at: " + circuit + "}"});
    EXPECT_EQ(Circuit(circuit).state, CircuitState::kFailed) << circuit;
  }
}

// A wire of the pair broken keeps the display from hearing; the controller's contact broken, everybody. What
// listens is clipped on to the wires.
TEST_F(EvidenceTest, AContactOfABusNodeThatIsOpenFailsThePair) {
  for (const std::string contact : {"ECU.33", "ECU.34"}) {
    Walk({"{kind: open, at: " + contact + "}"});
    EXPECT_THAT(Failed(), UnorderedElementsAre("can_high", "can_low")) << contact;
  }
  Walk({"{kind: open, at: DSP.3}"});  // or it has no supply
  EXPECT_THAT(Failed(), IsSupersetOf({"can_high", "can_low"}));
}

// The cam's angle, never measured, is 0 degrees on the bus, which is what it should be.
TEST_F(EvidenceTest, AnAngleThatWasNotMeasuredMeetsNothingAndClearsNobody) {
  Walk({"{kind: open, at: cam_signal}"});
  for (const check::Verdict& verdict : report_.verdicts) {
    if (scenario_.expectations[static_cast<std::size_t>(verdict.expectation)].name ==
        "cam_angle_cam_intake") {
      EXPECT_EQ(verdict.outcome, check::Outcome::kNotObserved);
      EXPECT_THAT(verdict.detail, testing::HasSubstr("was not measured"));
    }
  }
  EXPECT_THAT(Failed(), UnorderedElementsAre("cam_supply", "cam_ground", "cam_signal"));
  EXPECT_EQ(Circuit("crank_plus").state, CircuitState::kProven);
}

// Nobody is on the bus: nothing is said of a wire, good or bad.
TEST_F(EvidenceTest, ASilentRealControllerFailsNoCircuit) {
  Walk({}, nullptr, true);
  EXPECT_THAT(Failed(), IsEmpty());
  EXPECT_THAT(Proven(), IsEmpty());
  EXPECT_EQ(Circuit("coolant_signal").gap, Gap::kNotDriven);
}

// Ended after its first step, the engine has not turned: the crank's wires are not shown, and
// nobody says that nothing would notice them.
TEST_F(EvidenceTest, WhatARunDidNotReachIsNotObserved) {
  Walk({});
  const std::vector<report::StepTime> first = {report_.steps.front()};
  for (const auto& circuit : EvidenceOf({Bench(), scenario_, report_.verdicts, first})) {
    if (circuit.circuit != "crank_plus") continue;
    EXPECT_EQ(circuit.state, CircuitState::kNotShown);
    EXPECT_EQ(circuit.gap, Gap::kNotObserved);
  }
}

// Ten seconds without a supply: proven before, and failed, with what speaks against it. The controller was
// not heard: its contact on the bus would have done the same.
TEST_F(EvidenceTest, AnOutageIsNoProof) {
  Walk({"{kind: open, at: supply, from_s: 10, to_s: 30}"});
  EXPECT_THAT(Failed(), UnorderedElementsAre("supply", "ground", "can_high", "can_low"));
  EXPECT_FALSE(report::AllMet(report_));
}

// A table that is off, a sensor that is off: no break and no short makes that of every step.
// Whole through every step of its sensor, and open from the middle of the last ones on. The walk
// runs its engine from about 45 s to 54 s.
TEST_F(EvidenceTest, AWireThatOpensInTheRunFails) {
  Walk({"{kind: open, at: ECU.12, from_s: 46.6}"});
  EXPECT_THAT(Failed(), UnorderedElementsAre("cam_supply", "cam_ground", "cam_signal"));
  Walk({"{kind: open, at: ECU.10, from_s: 46.6}"});
  EXPECT_THAT(Failed(), UnorderedElementsAre("crank_plus", "crank_minus"));
  Walk({"{kind: open, at: BAT.2, from_s: 46.6}"});
  EXPECT_THAT(Failed(), UnorderedElementsAre("supply", "ground"));
}

// For a fifth of a second all sensors on it read wrong at once.
TEST_F(EvidenceTest, ASharedGroundThatComesAndGoesFailsAlone) {
  Walk({"{kind: open, at: ECU.3, from_s: 46, to_s: 46.2}"});
  EXPECT_THAT(Failed(), UnorderedElementsAre("sensor_ground"));
}

// 10 ohm under the current of all sensors: each reads a little wrong, none as an open wire would
// make it.
TEST_F(EvidenceTest, AnExtraResistanceInASharedGroundBlamesNoSensor) {
  Walk({"{kind: series_resistance, at: ECU.3, ohm: 10}"});
  EXPECT_THAT(Failed(), IsEmpty());
  EXPECT_EQ(Circuit("sensor_ground").state, CircuitState::kNotShown);
  EXPECT_THAT(Circuit("sensor_ground").why, HasSubstr("bad contact"));
  Walk({"{kind: series_resistance, at: ECU.3, ohm: 300}"});
  EXPECT_EQ(Circuit("sensor_ground").state, CircuitState::kFailed);
  EXPECT_NE(Circuit("manifold_ground").state, CircuitState::kFailed);
}

// Told a level that the coil never reaches, by the file itself: the crank is not seen, whatever the
// wires do.
TEST_F(EvidenceTest, WhatTheBenchAsDrawnWouldReportBlamesNoWire) {
  Change("arm_v: 0.25 V", "arm_v: 25 V");
  Walk({});
  EXPECT_THAT(Failed(), IsEmpty());
  EXPECT_NE(Circuit("crank_plus").state, CircuitState::kProven);
  EXPECT_NE(Circuit("cam_signal").state, CircuitState::kProven);
}

// The shipped hovercraft with its rotary engine.
class RotaryTest : public EvidenceTest {
 protected:
  RotaryTest() : EvidenceTest("hovercraft") {}
  void ExpectShaftSensorProven() const {
    for (const char* circuit : {"shaft_supply", "shaft_ground", "shaft_signal"}) {
      EXPECT_EQ(Circuit(circuit).state, CircuitState::kProven) << Circuit(circuit).why;
    }
  }
};

// No trailing spark comes, as the file wants it: nobody looks for a contact of the crank's sensor.
// The twin has the coils told.
TEST_F(RotaryTest, TrailingCoilsThatWereNotToldBlameNoWire) {
  Change("trailing_deg: 12, dwell_ms", "dwell_ms");
  Walk({});
  EXPECT_FALSE(report::AllMet(report_));
  ExpectShaftSensorProven();
}

TEST_F(RotaryTest, TrailingCoilsThatWereToldAreMet) {
  Walk({});
  EXPECT_TRUE(report::AllMet(report_));
  ExpectShaftSensorProven();
}

// What is told stays a matter of wires: without the sensor's ground no spark comes either.
TEST_F(RotaryTest, AShaftSensorWithoutGroundIsNotProven) {
  Change("trailing_deg: 12, dwell_ms", "dwell_ms");
  Walk({"{kind: open, at: SHAFT.2}"});
  EXPECT_NE(Circuit("shaft_ground").state, CircuitState::kProven);
}

TEST_F(EvidenceTest, WhatNoBreakMakesBlamesNoWire) {
  for (const char* fault : {"{kind: calibration, at: coolant_temperature, gain: 0.75}",
                            "{kind: sensor_offset, at: throttle, value: 30}",
                            "{kind: series_resistance, at: coolant_signal, ohm: 2000}"}) {
    Walk({fault});
    EXPECT_THAT(Failed(), IsEmpty()) << fault;
    EXPECT_FALSE(report::AllMet(report_)) << fault;
  }
}

// The stand-in told wrong, the file right: what a healthy set-up would prove is not blamed.
class ToldWrongTest : public EvidenceTest {
 protected:
  void WalkTold(const std::function<void(profile::Controller&)>& tell) {
    profile::Bench told = Bench();
    tell(*told.controller);
    Walk({}, &told);
    EXPECT_THAT(Failed(), IsEmpty());
    const bool any = std::ranges::any_of(report_.verdicts, [](const check::Verdict& v) {
      return v.outcome == check::Outcome::kFailed;
    });
    EXPECT_TRUE(any);
  }
};

TEST_F(ToldWrongTest, AnotherWheel) {
  WalkTold([](profile::Controller& c) {
    profile::Wheel& wheel = c.triggers[0].wheel;
    wheel = {};
    for (int tooth = 0; tooth < 35; ++tooth) {
      wheel.teeth.push_back({tooth * 10.0, tooth * 10.0 + 5.0});
    }
  });
}

TEST_F(ToldWrongTest, AnotherOffset) {
  WalkTold([](profile::Controller& c) { c.triggers[0].offset_deg = 310; });
}

TEST_F(ToldWrongTest, AnotherPressureTable) {
  WalkTold([](profile::Controller& c) {
    const int manifold = profile::IndexOf(c.analog, "manifold_pressure");
    c.analog[static_cast<std::size_t>(manifold)].value_at_volts = {{0.5, 20}, {4.5, 300}};
  });
}

TEST_F(ToldWrongTest, TheCamsOtherEdge) {
  WalkTold([](profile::Controller& c) { c.triggers[1].edge = profile::ActiveEdge::kRising; });
}

}  // namespace
}  // namespace drycrank::study
