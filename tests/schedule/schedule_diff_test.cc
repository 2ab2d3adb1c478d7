// SPDX-License-Identifier: Apache-2.0
//
// What changed between two states of the buggy's harness, and what must be proven again. The answers
// were worked out by hand from profiles/schedules/buggy.csv.
#include "schedule/schedule_diff.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profile/load.h"

namespace drycrank::schedule {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;
using testing::UnorderedElementsAre;

profile::Bench Buggy() {
  return *profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/buggy.yaml").bench;
}

profile::Wire WireOf(const std::string& circuit, const std::string& from, const std::string& to) {
  profile::Wire wire;
  wire.circuit = circuit;
  wire.from = from;
  wire.to = to;
  return wire;
}

profile::Wire& Named(profile::Bench& bench, const std::string& circuit) {
  return *std::ranges::find(bench.wires, circuit, &profile::Wire::circuit);
}

ScheduleDiff Diff(const profile::Bench& before, const profile::Bench& after) {
  return DiffSchedules(ScheduleOf(before), ScheduleOf(after), &after);
}

std::vector<std::string> AgainIn(const ScheduleDiff& diff) {
  std::vector<std::string> circuits;
  for (const auto& again : diff.again) circuits.push_back(again.circuit);
  return circuits;
}

TEST(ScheduleDiff, OfTheSameIsNothing) {
  const ScheduleDiff diff = Diff(Buggy(), Buggy());
  EXPECT_THAT(diff.lines, IsEmpty());
  EXPECT_THAT(diff.again, IsEmpty());
  EXPECT_EQ(DiffText(diff), "Nothing changed.\n");
}

// A second fan: its fuse in the box, its feed, its ground at the frame stud. Proven again: what is
// new; what carries its current, the battery's two leads; and what ends at the stud.
TEST(ScheduleDiff, AFanIsAdded) {
  profile::Bench after = Buggy();
  profile::Wire fuse = WireOf("F11", "FUSES.IN", "FUSES.6");
  fuse.fuse_a = 20;
  after.connectors[1].pins.push_back("6");
  ASSERT_EQ(after.connectors[1].name, "FUSES");
  after.wires.push_back(WireOf("fan_2_feed", "FUSES.6", "FAN2.1"));
  after.wires.push_back(WireOf("fan_2_minus", "FAN2.2", "S_CHASSIS"));
  after.wires.push_back(fuse);
  const ScheduleDiff diff = Diff(Buggy(), after);
  EXPECT_THAT(diff.lines, ElementsAre("+ fan_2_feed: FUSES.6 to FAN2.1",
                                      "+ fan_2_minus: FAN2.2 to S_CHASSIS",
                                      "+ F11: FUSES.IN to FUSES.6, fuse 20 A, 39 mohm"));
  EXPECT_THAT(AgainIn(diff),
              UnorderedElementsAre("fan_2_feed", "fan_2_minus", "F11", "battery_plus",
                                   "battery_minus", "engine_ground", "main_coil_ground",
                                   "pump_minus", "fan_minus", "display_ground", "keypad_ground"));
}

TEST(ScheduleDiff, AThickerWireIsProvenAgainAndSoAreItsNeighbours) {
  profile::Bench after = Buggy();
  profile::Wire& wire = Named(after, "pedal_1_supply");
  wire.gauge = "1 mm2";
  const ScheduleDiff diff = Diff(Buggy(), after);
  EXPECT_THAT(diff.lines,
              ElementsAre("~ pedal_1_supply: PEDAL.1 to S_5V_CABIN, 1 mm2, 0.9 m, pink/black; it "
                          "was 0.5 mm2, 0.9 m, pink/black"));
  EXPECT_THAT(AgainIn(diff),
              UnorderedElementsAre("pedal_1_supply", "pedal_2_supply", "cabin_5v"));
}

TEST(ScheduleDiff, AWireThatMovedLeavesAHandAtBothPlaces) {
  profile::Bench after = Buggy();
  Named(after, "clutch_ground").to = "S_SENSE";
  const ScheduleDiff diff = Diff(Buggy(), after);
  EXPECT_EQ(diff.changed, 1);
  const auto again = AgainIn(diff);
  for (const char* circuit : {"clutch_ground", "brake_ground", "cabin_ground", "coolant_ground"}) {
    EXPECT_THAT(again, testing::Contains(circuit));
  }
  EXPECT_THAT(again, testing::Not(testing::Contains("pump_minus")));
}

TEST(ScheduleDiff, ANewNameIsSaidAndProvenNoLess) {
  profile::Bench after = Buggy();
  Named(after, "brake_signal").circuit = "brake_light";
  const ScheduleDiff diff = Diff(Buggy(), after);
  EXPECT_THAT(diff.lines, ElementsAre("~ brake_signal is called brake_light now"));
  EXPECT_THAT(diff.again, IsEmpty());
}

// What a fuse fed hangs dead without it; a relay of other data, a diode the other way round.
TEST(ScheduleDiff, OfParts) {
  profile::Bench after = Buggy();
  Named(after, "F3").fitted = false;
  ScheduleDiff diff = Diff(Buggy(), after);
  EXPECT_EQ(diff.removed, 1);
  EXPECT_THAT(AgainIn(diff), testing::Contains("pump_feed"));

  after = Buggy();
  after.relays[1].pulls_in_v = 20;
  diff = Diff(Buggy(), after);
  EXPECT_EQ(diff.changed, 1);
  EXPECT_THAT(AgainIn(diff),
              UnorderedElementsAre("pump_coil_feed", "pump_coil", "pump_feed", "pump_plus"));

  profile::Bench before = Buggy();
  before.diodes.push_back({"d", "LAMP.1", "LAMP.2"});
  after = before;
  std::swap(after.diodes[0].anode, after.diodes[0].cathode);
  EXPECT_THAT(AgainIn(Diff(before, after)), UnorderedElementsAre("lamp_feed", "lamp"));
}

TEST(ScheduleDiff, WhatIsTakenAwayTouchesItsNeighbours) {
  profile::Bench after = Buggy();
  std::erase_if(after.wires, [](const profile::Wire& wire) { return wire.circuit == "air_ground"; });
  const ScheduleDiff diff = Diff(Buggy(), after);
  EXPECT_EQ(diff.removed, 1);
  EXPECT_THAT(AgainIn(diff), testing::Contains("coolant_ground"));
  EXPECT_THAT(AgainIn(diff), testing::Not(testing::Contains("coolant_signal")));
}

}  // namespace
}  // namespace drycrank::schedule
