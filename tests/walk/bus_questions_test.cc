// SPDX-License-Identifier: Apache-2.0
//
// Ohms: 60 as built, 120 with one of two missing (tests/reference/can_bus.yaml), 40 with a third by
// hand. What the display's plug is wired to: profiles/benches/hill_climb.yaml.
#include "walk/bus_questions.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profile/load.h"

namespace drycrank::walk {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::IsSupersetOf;

profile::Bench Load(const std::string& name) {
  return *profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/" + name + ".yaml").bench;
}

TEST(BusQuestions, OfEachPairTheOhmsAreAsked) {
  const auto all = BusQuestions(Load("hill_climb"));
  ASSERT_EQ(all.size(), 1u);  // the display talks
  EXPECT_EQ(all[0].name, "termination_vehicle");
  EXPECT_THAT(all[0].text, HasSubstr("does the meter show 60 Ω from ECU.33 to ECU.34?"));
  EXPECT_THAT(all[0].means, HasSubstr("120 Ω: one termination is missing"));
  EXPECT_THAT(all[0].means, HasSubstr("40 Ω: one too many"));
  EXPECT_THAT(all[0].circuits, IsSupersetOf({"can_high", "can_low"}));
}

TEST(BusQuestions, ADisplayThatOnlyListensIsLookedAt) {
  profile::Bench bench = Load("hill_climb");
  std::erase_if(bench.buses[0].messages, [](const profile::Message& message) {
    return message.sender == profile::Sender::kDisplay;
  });
  const auto all = BusQuestions(bench);
  ASSERT_EQ(all.size(), 2u);
  EXPECT_EQ(all[0].name, "display");
  EXPECT_THAT(all[0].circuits,
              IsSupersetOf({"can_high", "can_low", "display_supply", "display_ground"}));
}

TEST(BusQuestions, WithoutNodesNobodyIsAsked) {
  profile::Bench bench = Load("hill_climb");
  bench.buses[0].nodes.clear();
  EXPECT_THAT(BusQuestions(bench), IsEmpty());
  EXPECT_THAT(BusQuestions(Load("kart")), IsEmpty());
}

}  // namespace
}  // namespace drycrank::walk
