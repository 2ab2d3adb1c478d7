// SPDX-License-Identifier: Apache-2.0
//
// By hand from the wires of profiles/benches/hill_climb.yaml: CLT.1 and CLT.2 of the coolant sensor are
// coolant_signal and coolant_ground, MAP.3 is manifold_signal, CMP.3 is cam_signal; the grounds end in one
// splice with those of devices that nobody drives.
#include "walk/reach.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profile/load.h"
#include "tests/profile/scratch.h"
#include "walk/walk.h"

namespace drycrank::walk {
namespace {

using testing::AllOf;
using testing::Contains;
using testing::ElementsAre;
using testing::IsEmpty;
using testing::Not;

class ReachTest : public profile::Scratch {
 protected:
  ReachTest()
      : loaded_(Load("include: " DRYCRANK_PROFILES_DIR "/benches/hill_climb.yaml\n"
                     "drives:\n"
                     "  ohms: {kind: potentiometer, channels: {coolant: {device: a, channel: resistance0}}}\n"
                     "  volts: {kind: dac, channels: {manifold: {device: b, channel: voltage0}}}\n"
                     "  edges: {kind: core, line: /dev/ttyACM0, channels: {cam_intake: {pin: 0}}}\n")) {
    EXPECT_EQ(Text(loaded_.problems), "");
  }
  profile::LoadedBench loaded_;
};

TEST_F(ReachTest, OnlyTheDrivenLeadIsShown) {
  const Reach reach = ReachOfReal(*loaded_.bench, true);
  EXPECT_FALSE(reach.all);
  EXPECT_THAT(reach.devices, ElementsAre("cam_intake", "coolant", "manifold"));
  EXPECT_THAT(reach.circuits,
              ElementsAre("cam_signal", "coolant_ground", "coolant_signal", "manifold_signal"));
}

TEST_F(ReachTest, WithoutOutputsNothingOfARealControllerIs) {
  const Reach reach = ReachOfReal(*loaded_.bench, false);
  EXPECT_FALSE(reach.all);
  EXPECT_THAT(reach.devices, IsEmpty());
  EXPECT_THAT(reach.circuits, IsEmpty());
}

// The crank is not driven: without it no speed, and nothing is expected of the engine.
TEST_F(ReachTest, WithoutTheCrankTheEngineDoesNotTurn) {
  const Walk walk = MakeWalk(*loaded_.bench, ReachOfReal(*loaded_.bench, true));
  for (const profile::Step& step : walk.scenario.steps) EXPECT_NE(step.name, "cranking");
  int coolant = 0, engine = 0;
  for (const profile::Expectation& e : walk.scenario.expectations) {
    coolant += e.name == "coolant_coolant_temperature";
    engine += e.name == "engine_speed" || e.name == "synchronised";
  }
  EXPECT_EQ(coolant, 1);
  EXPECT_EQ(engine, 0);
}

std::vector<std::string> NamesOf(const Walk& walk) {
  std::vector<std::string> names;
  for (const profile::Expectation& e : walk.scenario.expectations) names.push_back(e.name);
  return names;
}

// Message `chassis` has the road speed too; but the controller was told to measure it at ECU.30, where
// nothing is driven.
TEST_F(ReachTest, WhatIsMeasuredAtATerminalDoesNotComeByAMessage) {
  EXPECT_THAT(NamesOf(MakeWalk(*loaded_.bench, ReachOfReal(*loaded_.bench, true))),
              Not(Contains(testing::HasSubstr("road_speed"))));
  EXPECT_THAT(NamesOf(MakeWalk(*loaded_.bench)), Contains("wheel_speed_road_speed"));
}

// With crank and cam driven, too: its sparks and the edges at its pins are seen by nobody.
TEST_F(ReachTest, DegreesAreExpectedOfTheStandInInsideAlone) {
  Reach reach = ReachOfReal(*loaded_.bench, true);
  reach.devices.insert("crank");
  EXPECT_THAT(NamesOf(MakeWalk(*loaded_.bench, reach)),
              AllOf(Contains("synchronised"), Contains("cam_angle_cam_intake"),
                    Not(Contains("fires_at")), Not(Contains("edges_cam_intake"))));
  EXPECT_THAT(NamesOf(MakeWalk(*loaded_.bench)), Contains("fires_at"));
}

}  // namespace
}  // namespace drycrank::walk
