// SPDX-License-Identifier: Apache-2.0
//
// By hand from the wires of profiles/benches/hill_climb.yaml: the coolant sensor's CLT.1 goes to
// ECU.20, its CLT.2 to the splice S_GND and from there to ECU.3; ten more devices hang on S_GND.
#include "walk/device_wires.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profile/load.h"
#include "profile/sensors.h"
#include "walk/walk.h"

namespace drycrank::walk {
namespace {

using testing::ElementsAre;

class WiringTest : public testing::Test {
 protected:
  profile::LoadedBench loaded_ =
      profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/hill_climb.yaml");
  const profile::Bench& bench_ = *loaded_.bench;
};

TEST_F(WiringTest, CircuitsEndAtTheController) {
  EXPECT_THAT(CircuitsOf(bench_, {"CLT.1", "CLT.2"}),
              ElementsAre("coolant_ground", "coolant_signal", "sensor_ground"));
  EXPECT_THAT(CircuitsOf(bench_, {"CKP.1", "CKP.2"}), ElementsAre("crank_minus", "crank_plus"));
}

TEST_F(WiringTest, SupplyOfASensorIsFollowedThroughItsSplice) {
  EXPECT_THAT(CircuitsOf(bench_, {"CMP.1"}), ElementsAre("cam_supply", "supply"));
}

TEST_F(WiringTest, InputIsTheOneAtTheWiresEnd) {
  EXPECT_EQ(InputOf(bench_, "CLT.1"), "ECU.20");
  EXPECT_EQ(InputOf(bench_, "CLT.2"), "");  // ECU.3 is a ground
}

// Between two drives of the walk at rest, one sensor's quantity moves and no other.
TEST_F(WiringTest, WalkMovesOneQuantityAtATime) {
  const Walk walk = MakeWalk(bench_);
  ASSERT_GT(walk.scenario.steps.size(), 3 * bench_.sensors.size());
  for (std::size_t i = 1; i < walk.scenario.steps.size(); ++i) {
    const profile::Step& step = walk.scenario.steps[i];
    if (step.name.ends_with("_advanced")) continue;  // the engine runs again beside it
    EXPECT_EQ(step.drives.size(), 1u) << step.name;
  }
  EXPECT_TRUE(walk.not_provable.empty());
}

TEST_F(WiringTest, SensorThatLeadsNowhereIsNotProvable) {
  profile::Bench cut = bench_;
  std::erase_if(cut.wires, [](const auto& wire) { return wire.circuit == "coolant_signal"; });
  const Walk walk = MakeWalk(cut);
  ASSERT_EQ(walk.not_provable.size(), 1u);
  EXPECT_EQ(walk.not_provable[0].circuit, "coolant_ground");
}

}  // namespace
}  // namespace drycrank::walk
