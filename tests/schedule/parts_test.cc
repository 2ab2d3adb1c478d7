// SPDX-License-Identifier: Apache-2.0
//
// Fuses, relays and plugs between two pieces of harness, found in a list of wires.
#include "schedule/parts.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "profile/load.h"
#include "tests/schedule/text_of.h"

namespace drycrank::schedule {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

constexpr const char* kHeading = "From;From pin;To;To pin;Circuit;Gauge mm2;Length m;Fuse\n";

Imported Import(const std::string& lines) { return ImportCsv("loom.csv", kHeading + lines); }

std::vector<std::string> FusesOf(const Imported& imported) {
  std::vector<std::string> fuses;
  for (const ScheduleWire& wire : imported.schedule.wires) {
    if (!wire.IsFuse()) continue;
    fuses.push_back(fmt::format("{} {} {} {:g} A", wire.circuit.text, wire.from.text, wire.to.text,
                                wire.fuse_a));
  }
  return fuses;
}

TEST(ScheduleParts, AFuseLiesBetweenItsPinAndTheFeedOfTheBox) {
  const Imported imported = Import(
      "BAT;1;BOX;IN;battery;6;1;\n"
      "BOX;1;ECU;1;ecu_feed;1;1;F1 10A\n"
      "FAN;1;BOX;2;fan_feed;1;1;7,5 A\n");
  EXPECT_THAT(imported.problems, IsEmpty());
  EXPECT_THAT(FusesOf(imported), ElementsAre("F1 BOX.IN BOX.1 10 A", "fuse_BOX_2 BOX.IN BOX.2 7.5 A"));
}

TEST(ScheduleParts, TwoWiresBehindOneFuseHaveOne) {
  const Imported imported = Import(
      "BAT;1;BOX;IN;battery;6;1;\nBOX;1;S_A;;feed;1;1;F1 10A\nBOX;1;ECU;2;feed_b;1;1;F1 10A\n");
  EXPECT_THAT(FusesOf(imported), ElementsAre("F1 BOX.IN BOX.1 10 A"));
}

TEST(ScheduleParts, AFuseThatIsCalledLikeACircuitGetsAnotherName) {
  const Imported imported = Import("BAT;1;BOX;IN;F1;6;1;\nBOX;1;ECU;1;feed;1;1;F1 10A\n");
  EXPECT_THAT(FusesOf(imported), ElementsAre("fuse_F1 BOX.IN BOX.1 10 A"));
}

std::string OnlyProblem(const std::string& lines) {
  const Imported imported = Import(lines);
  EXPECT_EQ(imported.problems.size(), 1u);
  return imported.problems.empty() ? "" : Format(imported.problems[0]);
}

TEST(ScheduleParts, WhatIsMissingIsSaidWithItsPlace) {
  EXPECT_EQ(OnlyProblem("BAT;1;BOX;1;battery;6;1;\nBAT;2;BOX;2;more;6;1;\n"
                        "BOX;3;ECU;1;feed;1;1;10A\n"),
            "loom.csv:4:22: which pin feeds the fuses of BOX? BOX.1, BOX.2 have none; write the "
            "wire from the battery to the box in a line without a fuse, at a pin called IN");
  EXPECT_THAT(OnlyProblem("BAT;1;BOX;IN;battery;6;1;\nBOX;1;ECU;1;feed;1;1;F1\n"),
              HasSubstr("loom.csv:3:22: 'F1' is not the rating of a fuse"));
  EXPECT_THAT(OnlyProblem("BOX;1;ECU;1;feed;1;1;10A\nS_A;;S_B;;tie;1;1;10A\n"
                          "BAT;1;BOX;IN;battery;6;1;\n"),
              HasSubstr("loom.csv:3:19: no end of this wire is a pin of a fuse box"));
}

// A fuse that is written where none can be, or in words that may mean two things.
TEST(ScheduleParts, NoFuseIsMadeUp) {
  const std::string box = "BAT;1;FUSES;IN;battery;6;1;\n";
  const auto said = [&](const std::string& line) { return OnlyProblem(box + line); };
  EXPECT_THAT(said("K1;87;PUMP;1;a;1;1;F1 15A\nBAT;1;K1;30;b;1;1;\nK1;85;ECU;1;c;1;1;\n"
                   "K1;86;ECU;2;d;1;1;\n"),
              HasSubstr("no end of this wire is a pin of a fuse box"));
  EXPECT_THAT(said("SWITCH;2;LAMP;1;a;1;1;5A\nBAT;2;SWITCH;1;b;1;1;\n"),
              HasSubstr("no end of this wire is a pin of a fuse box"));
  for (const char* cell : {"10A/15A", "10 A 20 A", "1/2 A", "F4 10A or 15A", "10 W"}) {
    EXPECT_THAT(said(std::string("FUSES;1;ECU;1;a;1;1;") + cell + "\n"),
                HasSubstr("is not the rating of a fuse"))
        << cell;
  }
  EXPECT_THAT(said("FUSES;1;ECU;1;a;1;1;F1 10A\nFUSES;1;ECU;2;b;1;1;F1 15A\n"),
              HasSubstr("FUSES.1 has another fuse in a line above"));
  EXPECT_THAT(said("FUSES;1;ECU;1;a;1;1;F1 10A\nFUSES;2;ECU;2;b;1;1;F1 10A\n"),
              HasSubstr("fuse F1 is at another pin already"));
}

// The box hangs behind a main fuse: its feed is the pin that is called so, not one without a fuse.
TEST(ScheduleParts, AFuseAtTheFeedIsNotOneOfTheBox) {
  const Imported imported = Import(
      "BAT;1;FUSES;IN;battery;6;1;60A\nFUSES;1;ECU;1;a;1;1;F1 10A\nFUSES;2;HORN;1;b;1;1;\n");
  EXPECT_THAT(FusesOf(imported), ElementsAre("F1 FUSES.IN FUSES.1 10 A"));
  ASSERT_EQ(imported.problems.size(), 1u);
  EXPECT_THAT(Format(imported.problems[0]), HasSubstr("FUSES.IN feeds the box, and has a fuse itself"));
}

TEST(ScheduleParts, ARelayIsToldByItsPins) {
  const Imported imported = Import(
      "BAT;1;K1;30;a;1;1;\nK1;87;PUMP;1;b;1;1;\nK1;87a;LAMP;1;c;1;1;\nIGN;1;K1;86;d;1;1;\n"
      "K1;85;ECU;1;e;1;1;\nBAT;2;K2;30;f;1;1;\nK2;85;ECU;2;g;1;1;\n");
  ASSERT_EQ(imported.schedule.relays.size(), 1u);
  const profile::Relay& relay = imported.schedule.relays[0];
  EXPECT_EQ(relay.name, "relay_K1");
  EXPECT_EQ(relay.coil_plus, "K1.86");
  EXPECT_EQ(relay.coil_minus, "K1.85");
  EXPECT_EQ(relay.common, "K1.30");
  EXPECT_EQ(relay.normally_open, "K1.87");
  EXPECT_EQ(relay.normally_closed, "K1.87a");
}

bool IsInLine(const Imported& imported, const std::string& plug) {
  const auto& plugs = imported.schedule.connectors;
  return std::ranges::any_of(
      plugs, [&](const profile::Connector& c) { return c.name == plug && c.in_line; });
}

TEST(ScheduleParts, APlugIsInLineWhereMostPinsHaveTwoWires) {
  const Imported imported = Import(
      "A;1;BULK;1;a;1;1;\nBULK;1;ECU;1;a;1;1;\nA;2;BULK;2;b;1;1;\nBULK;2;ECU;2;b;1;1;\n"
      "A;3;BULK;3;c;1;1;\nB;1;ECU;2;d;1;1;\nC;1;ECU;3;e;1;1;\n");
  EXPECT_TRUE(IsInLine(imported, "BULK"));
  EXPECT_FALSE(IsInLine(imported, "ECU"));
  EXPECT_FALSE(IsInLine(imported, "A"));
}

// The shipped sheet: what the bench includes was made from it, and no wire was made up or lost.
TEST(ScheduleParts, OfTheBuggysSheet) {
  const std::string file = DRYCRANK_PROFILES_DIR "/schedules/buggy.csv";
  const std::string text = TextOf(file);
  const Imported imported = ImportCsv("profiles/schedules/buggy.csv", text);
  EXPECT_THAT(imported.problems, IsEmpty());
  const auto lines = std::ranges::count(text, '\n') - 3;  // two remarks and the heading
  EXPECT_EQ(std::ssize(imported.schedule.wires) - std::ssize(FusesOf(imported)), lines);
  EXPECT_EQ(lines, 119);
  EXPECT_EQ(FusesOf(imported).size(), 10u);
  EXPECT_EQ(imported.schedule.relays.size(), 4u);
  EXPECT_EQ(HarnessYaml(imported.schedule),
            TextOf(DRYCRANK_PROFILES_DIR "/parts/harnesses/buggy.yaml"));
  const auto bench = profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/buggy.yaml");
  ASSERT_TRUE(bench.bench);
  EXPECT_EQ(std::ssize(bench.bench->wires), lines + 10);
}

}  // namespace
}  // namespace drycrank::schedule
