// SPDX-License-Identifier: Apache-2.0
//
// Broken wires of a bus in a whole run: whose frames are there for whom. What is right follows from
// the drawing (display at one end of the pair, controller at the other, the computer clipped on
// behind the controller's plug) and from hw-notes/can-wiring.md.
#include "run/bus_wires.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstddef>
#include <string>
#include <vector>

#include "profile/load.h"
#include "run/runner.h"

namespace drycrank::run {
namespace {

class Heard : public RunObserver {
 public:
  explicit Heard(const profile::Bench& bench) : bench_(bench) {}
  void OnFrame(const bus::TimedFrame& frame) override {
    for (const profile::Message& message : bench_.buses[0].messages) {
      if (message.id != frame.frame.id) continue;
      (message.sender == profile::Sender::kController ? controller
       : message.sender == profile::Sender::kDisplay  ? display
                                                      : computer)++;
    }
  }
  void OnNote(const std::string& note, TimeNs /*t_ns*/) override { notes.push_back(note); }
  std::size_t controller = 0, display = 0, computer = 0;
  std::vector<std::string> notes;

 private:
  const profile::Bench& bench_;
};

class BusWiresTest : public testing::Test {
 protected:
  // One second with this fault; "": none. `shown` is what the display makes of the manifold.
  Heard Play(const std::string& yaml, const std::string& second = "") {
    loaded_.scenario->faults.clear();
    for (const std::string& text : {yaml, second}) {
      if (text.empty()) continue;
      profile::ParsedFault parsed = profile::ParseFault(*loaded_.bench, text);
      EXPECT_TRUE(parsed.fault) << text << ": " << Format(parsed.problems.at(0));
      loaded_.scenario->faults.push_back(*parsed.fault);
    }
    Heard heard(*loaded_.bench);
    Runner runner(*loaded_.bench, *loaded_.scenario, {});
    runner.AddObserver(&heard);
    runner.Start();
    runner.RunTo(kNsPerS);
    const standin::Display& display = *runner.display();
    state_ = display.Value(display.ValueIndex("manifold.state"));
    return heard;
  }

  profile::LoadedScenario loaded_ =
      profile::LoadScenario(DRYCRANK_PROFILES_DIR "/scenarios/hill_climb/healthy.yaml");
  double state_ = -1;
};

constexpr double kOk = 0, kStale = 2;  // standin/display.h

TEST_F(BusWiresTest, WithoutAFaultAllHearAll) {
  const Heard heard = Play("");
  EXPECT_GT(heard.controller, 100u);
  EXPECT_GT(heard.display, 20u);
  EXPECT_GT(heard.computer, 10u);
  EXPECT_EQ(state_, kOk);
}

TEST_F(BusWiresTest, ADisplayWithAnOpenWireIsDeafAndMute) {
  for (const char* at : {"can_high", "can_low", "DSP.3", "DSP.4"}) {
    const Heard heard = Play("{kind: open, at: " + std::string(at) + "}");
    EXPECT_GT(heard.controller, 100u) << at;
    EXPECT_EQ(heard.display, 0u) << at;
    EXPECT_GT(heard.computer, 10u) << at;
    EXPECT_EQ(state_, kStale) << at;
  }
}

TEST_F(BusWiresTest, WithoutItsSupplyADisplaySaysNothing) {
  for (const char* at : {"display_supply", "display_ground", "DSP.1", "DSP.2"}) {
    const Heard heard = Play("{kind: open, at: " + std::string(at) + "}");
    EXPECT_GT(heard.controller, 100u) << at;
    EXPECT_EQ(heard.display, 0u) << at;
  }
}

// The display hears the computer and is answered by it, and has nothing to show of the controller.
TEST_F(BusWiresTest, AControllerWithAnOpenPinIsMissedByAll) {
  const Heard heard = Play("{kind: open, at: ECU.33}");
  EXPECT_EQ(heard.controller, 0u);
  EXPECT_GT(heard.display, 20u);
  EXPECT_EQ(state_, kStale);
}

TEST_F(BusWiresTest, JoinedCrossedOrAtASupplyNobodyIsHeard) {
  for (const char* fault :
       {"{kind: short_together, at: DSP.3, with: DSP.4}",
        "{kind: terminals_swapped, at: DSP.3, with: DSP.4}", "{kind: short_to_supply, at: DSP.4}",
        "{kind: short_to_ground, at: DSP.3}"}) {
    const Heard heard = Play(fault);
    EXPECT_EQ(heard.controller + heard.display + heard.computer, 0u) << fault;
  }
}

// One is enough on short wires (common practice, no source); without any, what is dominant does not
// fade in time.
TEST_F(BusWiresTest, OneTerminationIsEnoughAndNoneIsNot) {
  const std::string ecu = "{kind: termination, at: vehicle.ecu, ohm: 0}";
  const std::string display = "{kind: termination, at: vehicle.display, ohm: 0}";
  const Heard whole = Play("");
  EXPECT_EQ(Play(ecu).display, whole.display);
  EXPECT_EQ(Play("{kind: termination, at: vehicle.display, ohm: 1 kohm}").display, whole.display);
  const Heard none = Play(ecu, display);
  EXPECT_EQ(none.controller + none.display + none.computer, 0u);
}

TEST_F(BusWiresTest, WhatIsNotAcknowledgedIsNotedOnce) {
  EXPECT_THAT(Play("").notes, testing::IsEmpty());
  EXPECT_THAT(Play("{kind: open, at: ECU.33, from_s: 0.3, to_s: 0.6}").notes,
              testing::ElementsAre(
                  "controller on bus vehicle: error passive: nobody acknowledges what it sends",
                  "controller on bus vehicle: error active"));
  EXPECT_THAT(Play("{kind: short_together, at: DSP.3, with: DSP.4}").notes,
              testing::UnorderedElementsAre(
                  "controller on bus vehicle: bus off: it does not read back what it sends",
                  "display on bus vehicle: bus off: it does not read back what it sends"));
  // What is dark sends nothing.
  EXPECT_THAT(Play("{kind: open, at: DSP.1}").notes, testing::IsEmpty());
}

TEST_F(BusWiresTest, ItComesBackWhenTheFaultGoes) {
  const Heard heard = Play("{kind: open, at: can_high, from_s: 0.3, to_s: 0.6}");
  const Heard whole = Play("");
  EXPECT_LT(heard.display, whole.display);
  EXPECT_GT(heard.display, whole.display / 2);
  EXPECT_EQ(heard.controller, whole.controller);
}

}  // namespace
}  // namespace drycrank::run
