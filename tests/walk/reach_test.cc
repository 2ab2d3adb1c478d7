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

using testing::ElementsAre;
using testing::IsEmpty;

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

}  // namespace
}  // namespace drycrank::walk
