// SPDX-License-Identifier: Apache-2.0
//
// By hand from the wires of profiles/benches/kart.yaml: the coil's IG.2 goes to CU.12, its IG.1 to
// the splice P, which the controller's own supply proves; the pump's driver is read on the bus; the
// shift lamp is on paper only.
#include "walk/outputs.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "profile/load.h"
#include "profile/sensors.h"
#include "walk/walk.h"

namespace drycrank::walk {
namespace {

using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

std::vector<std::string> CircuitsIn(const std::vector<NotProvable>& list) {
  std::vector<std::string> circuits;
  for (const NotProvable& entry : list) circuits.push_back(entry.circuit);
  return circuits;
}

class WalkOutputs : public testing::Test {
 protected:
  const profile::Expectation* Find(const Walk& walk, const std::string& name) {
    for (const auto& e : walk.scenario.expectations) {
      if (e.name == name) return &e;
    }
    return nullptr;
  }
  profile::LoadedBench loaded_ = profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/kart.yaml");
  profile::Bench& bench_ = *loaded_.bench;
};

TEST_F(WalkOutputs, WhatNoMessageShowsIsAsked) {
  const Walk walk = MakeWalk(bench_);
  ASSERT_EQ(walk.questions.size(), 2u);  // coil: operator; injector: capture
  EXPECT_EQ(walk.questions[0].text, "Does the spark tester spark?");
  EXPECT_THAT(walk.questions[0].circuits, ElementsAre("coil_supply", "coil_switched"));
  EXPECT_THAT(walk.questions[0].caution, HasSubstr("can kill"));
  EXPECT_THAT(walk.questions[1].circuits, ElementsAre("injector_supply", "injector_switched"));
}

TEST_F(WalkOutputs, WhatTheBusShowsIsExpected) {
  const Walk walk = MakeWalk(bench_);
  const profile::Expectation* pump = Find(walk, "output_pump");
  ASSERT_NE(pump, nullptr);
  EXPECT_EQ(profile::ConditionOf(pump->kind)->text, "all.pump_driver above 9");
  EXPECT_THAT(pump->proves, ElementsAre("pump_supply", "pump_switched"));
  EXPECT_THAT(pump->during, ElementsAre("at_rest"));
}

TEST_F(WalkOutputs, AnOutputThatIsDrivenHasAStepOfItsOwn) {
  bench_.controller->outputs[2].driven_by = {{0, 1500}};
  const Walk walk = MakeWalk(bench_);
  EXPECT_THAT(Find(walk, "output_pump")->during, ElementsAre("output_pump"));
  const auto& steps = walk.scenario.steps;
  const auto at = std::find_if(steps.begin(), steps.end(),
                               [](const auto& step) { return step.name == "output_pump"; });
  ASSERT_NE(at, steps.end());
  ASSERT_EQ(at->drives.size(), 1u);
  EXPECT_EQ(at->drives[0].to, 1500);
  EXPECT_EQ((at + 1)->drives.at(0).to, 0);  // and it stops again
}

TEST_F(WalkOutputs, WhatIsOnPaperOnlyIsNeitherDrivenNorAsked) {
  const Walk walk = MakeWalk(bench_);
  EXPECT_THAT(CircuitsIn(walk.not_fitted), ElementsAre("lamp_supply", "lamp_switched"));
  EXPECT_THAT(walk.not_provable, IsEmpty());

  bench_.controller->outputs[3].fitted = true;
  EXPECT_EQ(MakeWalk(bench_).questions.size(), 3u);
}

TEST_F(WalkOutputs, ASensorOnPaperOnlyIsNotExpectedToRead) {
  ASSERT_NE(Find(MakeWalk(bench_), "head_head_temperature"), nullptr);
  bench_.sensors[0].fitted = false;
  const Walk walk = MakeWalk(bench_);
  EXPECT_EQ(Find(walk, "head_head_temperature"), nullptr);
  EXPECT_THAT(CircuitsIn(walk.not_fitted), Contains("head_signal"));
  for (const auto& step : walk.scenario.steps) EXPECT_THAT(step.name, Not(HasSubstr("head")));
}

// The kart's display repeats both its gauges on the bus: speed, of all.engine_speed, and head.
TEST_F(WalkOutputs, TheDisplayIsToShowWhatItRepeats) {
  const Walk walk = MakeWalk(bench_);
  const profile::Expectation* head = Find(walk, "display_head");
  ASSERT_NE(head, nullptr);
  const auto& target = std::get<profile::expect::DisplayShows>(head->kind).target;
  EXPECT_EQ(target.stimulus, profile::IndexOf(bench_.stimuli, "head_temperature"));
  EXPECT_DOUBLE_EQ(target.tolerance, 0.03 * 250 + 1);  // of 0 to 250 degC; its last digit is 1
  EXPECT_THAT(head->proves, IsEmpty());
  EXPECT_NE(Find(walk, "display_speed"), nullptr);

  std::erase_if(bench_.buses[0].messages,
                [](const auto& m) { return m.sender == profile::Sender::kDisplay; });
  EXPECT_EQ(Find(MakeWalk(bench_), "display_head"), nullptr);
}

TEST_F(WalkOutputs, DriveActsThenRests) {
  const profile::Scenario drive = DriveOf(bench_, bench_.controller->outputs[0], 4);
  ASSERT_EQ(drive.steps.size(), 2u);
  EXPECT_EQ(drive.steps[0].for_s, 4);
  EXPECT_EQ(drive.steps[0].drives.at(0).to, 1500);
  EXPECT_EQ(drive.steps[1].drives.at(0).to, 0);
}

// A real controller's sensors are not driven: nothing is expected of them, and each circuit says
// so.
TEST_F(WalkOutputs, OfARealControllerExpectsOnlyWhatReachesIt) {
  const Walk driven = MakeWalk(bench_), walk = MakeWalk(bench_, ReachOfReal(bench_, false));
  EXPECT_NE(Find(driven, "head_head_temperature"), nullptr);
  EXPECT_EQ(Find(walk, "head_head_temperature"), nullptr);
  EXPECT_EQ(Find(walk, "engine_speed"), nullptr);
  EXPECT_NE(Find(walk, "supply"), nullptr);
  int told = 0;
  for (const NotProvable& gap : walk.not_provable) {
    told += gap.why.find("no output drives this wire") != std::string::npos;
  }
  EXPECT_EQ(told, 17);  // of the kart's 27: not supply and ground, nor those of the outputs
  EXPECT_TRUE(walk.scenario.steps[0].drives.empty());
}

// 13.8 V, or 1 V less where nothing is wrong, 0.7 % lost on the way: 12.71 V. Of a supply that
// is steady within 0.1 V it must be 93 %, 12.83 V.
TEST(WalkSupply, MayBeOffByItsTolerance) {
  profile::Bench bench =
      *profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/hill_climb.yaml").bench;
  ASSERT_EQ(bench.supplies.at(0).tolerance_v, 1);
  const auto least_v = [&] {
    for (const profile::Expectation& e : MakeWalk(bench).scenario.expectations) {
      const auto* always = std::get_if<profile::expect::Always>(&e.kind);
      if (e.name == "supply" && always != nullptr) return always->condition.value;
    }
    return 0.0;
  };
  EXPECT_NEAR(least_v(), 12.71, 0.005);
  bench.supplies[0].tolerance_v = 0.1;
  EXPECT_NEAR(least_v(), 12.83, 0.005);
}

}  // namespace
}  // namespace drycrank::walk
