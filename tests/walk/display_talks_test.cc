// SPDX-License-Identifier: Apache-2.0
#include "walk/display_talks.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profile/load.h"
#include "walk/walk.h"

namespace drycrank::walk {
namespace {

using testing::IsEmpty;
using testing::UnorderedElementsAre;

profile::Bench HillClimb() {
  return *profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/hill_climb.yaml").bench;
}

TEST(DisplayTalks, ItsMessageProvesItsPairAndItsSupply) {
  const auto all = DisplayTalks(HillClimb());
  ASSERT_EQ(all.size(), 1u);
  EXPECT_THAT(all[0].proves,
              testing::IsSupersetOf({"can_high", "can_low", "display_supply", "display_ground"}));
}

TEST(DisplayTalks, NobodyIsAskedWhereTheNodesAreOnNoSchedule) {
  profile::Bench bench = HillClimb();
  bench.buses[0].nodes.clear();
  EXPECT_THAT(DisplayTalks(bench), IsEmpty());
}

TEST(DisplayTalks, ADisplayThatOnlyListensIsNotExpectedToTalk) {
  profile::Bench bench = HillClimb();
  std::erase_if(bench.buses[0].messages, [](const profile::Message& message) {
    return message.sender == profile::Sender::kDisplay;
  });
  EXPECT_THAT(DisplayTalks(bench), IsEmpty());
}

// ECU.1 and ECU.2 feed it, ECU.33 and ECU.34 are its pair.
TEST(ControllerTalks, ItsMessageProvesItsPairAndItsSupply) {
  const auto all = ControllerTalks(HillClimb());
  ASSERT_EQ(all.size(), 1u);
  EXPECT_EQ(all[0].name, "controller_talks_on_vehicle");
  EXPECT_THAT(all[0].proves, testing::IsSupersetOf({"can_high", "can_low", "supply", "ground"}));
}

TEST(DisplayTalks, TheWalkOfTheShippedCarLeavesNoCircuitOut) {
  const Walk walk = MakeWalk(HillClimb());
  EXPECT_THAT(walk.not_provable, IsEmpty());
}

}  // namespace
}  // namespace drycrank::walk
