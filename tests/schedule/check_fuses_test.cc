// SPDX-License-Identifier: Apache-2.0
//
// Fuses on paper, one load behind one, by hand:
//
//   supply 12 V, 20 mohm -- 0.5 m -- FB.IN [fuse, 75 mV at its rating] FB.1 -- l -- LMP -- l -- back
//
// 1.5 mm2: 13.3 mohm/m, 0.5 mm2: 39 mohm/m (tests/reference/wire_resistance.csv). Times: ISO 8820-3, from
// memory (tests/reference/blade_fuses.yaml).
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "schedule/blade_fuse.h"
#include "schedule/check.h"
#include "schedule/wire_current.h"

namespace drycrank::schedule {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

profile::Wire WireOf(const char* circuit, const char* from, const char* to, double length_m,
                     double area_mm2) {
  profile::Wire wire;
  wire.circuit = circuit;
  wire.from = from;
  wire.to = to;
  wire.length_m = length_m;
  wire.area_mm2 = area_mm2;
  wire.gauge = area_mm2 == 0.5 ? "0.5 mm2" : "1.5 mm2";
  wire.mohm_per_m = area_mm2 == 0.5 ? 39 : 13.3;
  wire.has_length = wire.has_gauge = true;
  return wire;
}

profile::Bench Fused(double rating_a, double ohm, double length_m = 3, double area_mm2 = 1.5) {
  profile::Bench bench;
  for (const char* name : {"BAT", "LMP", "FB"}) {
    profile::Connector& connector = bench.connectors.emplace_back();
    connector.name = name;
    connector.pins = {"1", "2", "IN"};
  }
  profile::Supply& supply = bench.supplies.emplace_back();
  supply.name = "battery";
  supply.plus = "BAT.1";
  supply.minus = "BAT.2";
  supply.series_ohm = 0.02;
  bench.loads.push_back({"lamp", "LMP.1", "LMP.2", ohm});
  bench.wires.push_back(WireOf("feed", "BAT.1", "FB.IN", 0.5, area_mm2));
  bench.wires.push_back(WireOf("lamp_plus", "FB.1", "LMP.1", length_m, area_mm2));
  bench.wires.push_back(WireOf("lamp_minus", "LMP.2", "BAT.2", length_m, area_mm2));
  profile::Wire& fuse = bench.wires.emplace_back();
  fuse.circuit = "F1";
  fuse.from = "FB.IN";
  fuse.to = "FB.1";
  fuse.fuse_a = rating_a;
  fuse.length_m = 1;
  fuse.mohm_per_m = 75 / rating_a;
  return bench;
}

std::vector<Finding> Check(const profile::Bench& bench) {
  const Schedule schedule = ScheduleOf(bench);
  CheckInput input;
  input.schedule = &schedule;
  input.bench = &bench;
  input.limits.drop_percent = 100;
  std::vector<Finding> findings = CheckSchedule(input).findings;
  std::erase_if(findings, [](const Finding& f) {
    return f.kind < FindingKind::kFuseOverloaded || f.kind > FindingKind::kShortBlowsLate;
  });
  return findings;
}
std::vector<std::string> Kinds(const profile::Bench& bench) {
  std::vector<std::string> kinds;
  for (const Finding& f : Check(bench)) kinds.emplace_back(DescribeKind(f.kind).word);
  return kinds;
}

TEST(BladeFuse, BlowsWithinTheLimitsOfItsStandard) {
  const struct {
    double load, least_s, most_s;
  } rows[] = {{1.35, 0.75, 600}, {1.6, 0.25, 50}, {2, 0.15, 5}, {3.5, 0.04, 0.5}, {6, 0.02, 0.1}};
  for (const auto& row : rows) {
    EXPECT_EQ(BlowingTimeOf(row.load).least_s, row.least_s) << row.load;
    EXPECT_EQ(BlowingTimeOf(row.load).most_s, row.most_s) << row.load;
  }
  EXPECT_EQ(BlowingTimeOf(1.1).least_s, 100 * 3600);
  EXPECT_FALSE(BlowingTimeOf(1.1).most_s);
  EXPECT_FALSE(BlowingTimeOf(1.34).most_s);
}

// What blows at 200 % within 5 s does so at 300 %; what bears 350 % for 0.04 s bears 300 % as long.
TEST(BladeFuse, BetweenTwoColumnsTheLessFavourableOneHolds) {
  EXPECT_EQ(BlowingTimeOf(3).least_s, 0.04);
  EXPECT_EQ(BlowingTimeOf(3).most_s, 5);
  EXPECT_EQ(BlowingTimeOf(20).least_s, 0);
  EXPECT_EQ(BlowingTimeOf(20).most_s, 0.1);
}

// VDE 0100 part 523, group 2, from memory.
TEST(WireCurrent, IsThatOfTheRowOrOfTheNextThinnerOne) {
  EXPECT_EQ(MostAmperes(0.75), 13);
  EXPECT_EQ(MostAmperes(1.5), 20);
  EXPECT_EQ(MostAmperes(2), 20);
  EXPECT_EQ(MostAmperes(16), 87);
  EXPECT_EQ(MostAmperes(25), 0);
  EXPECT_NEAR(MostAmperes(0.5), 10.0, 0.05);  // 13 * (2/3)^0.65
}

// Loop: 20 + 6.65 + 7.5 + 2 * 39.9 = 113.95 mohm. 12 V / (1.2 + 0.11395 ohm) = 9.13 A.
TEST(FuseCheck, NotesALoadAboveFourFifths) {
  EXPECT_THAT(Kinds(Fused(10, 1.5)), IsEmpty());  // 7.44 A
  const auto findings = Check(Fused(10, 1.2));
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_EQ(findings[0].kind, FindingKind::kFuseNearRating);
  EXPECT_THAT(findings[0].what, HasSubstr("fuse F1 (10 A) carries 9.13 A, 91 % of its rating"));
  EXPECT_THAT(findings[0].remedy, HasSubstr("15 A"));  // 9.13 / 0.8 = 11.4
}

// 12 V / (0.9 + 0.11395 ohm) = 11.83 A.
TEST(FuseCheck, AboveOneHundredAndTenPerCentIsAnError) {
  EXPECT_THAT(Kinds(Fused(10, 0.9)), ElementsAre("fuse_overloaded"));
  EXPECT_TRUE(Check(Fused(10, 0.9))[0].is_error());
}

TEST(FuseCheck, AnUnconnectedGroundIsNoLoad) {
  profile::Bench bench = Fused(10, 0.9);
  std::erase_if(bench.wires, [](const profile::Wire& w) { return w.circuit == "lamp_minus"; });
  EXPECT_THAT(Kinds(bench), IsEmpty());
}

// 40 A are 400 %: 0.02 s for sure, as at 600 %. 20 A are 200 %: 0.15 s.
TEST(FuseCheck, AnInrushMayBlowIt) {
  profile::Bench bench = Fused(10, 2.4);
  const auto with = [&](double inrush_a, double inrush_ms) {
    bench.loads[0].inrush_a = inrush_a;
    bench.loads[0].inrush_ms = inrush_ms;
    return Kinds(bench);
  };
  EXPECT_THAT(with(40, 15), IsEmpty());
  EXPECT_THAT(with(40, 25), ElementsAre("fuse_may_blow"));
  EXPECT_THAT(with(20, 100), IsEmpty());
  EXPECT_THAT(with(20, 200), ElementsAre("fuse_may_blow"));
  EXPECT_THAT(with(10.5, 0), IsEmpty());  // 105 %, for ever
  EXPECT_THAT(with(12, 0), ElementsAre("fuse_may_blow"));
}

// 1.5 mm2 bears 20 A: IEC 60364-4-43 lets a fuse of 20 A guard it. 135 % of 25 A are 33.75 A.
TEST(FuseCheck, AWireBearsLessThanItsFuse) {
  EXPECT_THAT(Kinds(Fused(20, 2.4)), IsEmpty());
  const auto findings = Check(Fused(25, 2.4));
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_EQ(findings[0].kind, FindingKind::kWireBelowFuse);
  EXPECT_THAT(findings[0].what, HasSubstr("lets 33.8 A through"));
  EXPECT_THAT(findings[0].what, HasSubstr("than the 20 A that circuit lamp_plus"));
  EXPECT_THAT(findings[0].remedy, HasSubstr("of 20 A at most"));
  EXPECT_THAT(findings[0].circuits, ElementsAre("F1", "lamp_plus"));
}

TEST(FuseCheck, AFuseThatIsTooLargeForSeveralWiresIsOneFinding) {
  profile::Bench bench = Fused(25, 2.4);
  bench.splices = {"S"};
  bench.wires[1].to = "S";
  bench.wires.push_back(WireOf("lamp_tail", "S", "LMP.1", 1, 0.5));
  const auto findings = Check(bench);
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_THAT(findings[0].what,
              HasSubstr("than the 10 A that circuit lamp_tail (S to LMP.1) of 0.5 mm2 bears"));
  EXPECT_THAT(findings[0].what, HasSubstr("too thin as well: lamp_plus"));
  EXPECT_THAT(findings[0].remedy, HasSubstr("of 10 A at most"));
}

// 20.5 m of 0.5 mm2: 799.5 mohm, and 20 mohm. 5 A (15 mohm): 12 V / 834.5 mohm = 14.4 A, 288 %, 5 s.
// 7.5 A (10 mohm): 14.5 A, 193 %, 50 s. 15 A (5 mohm): 14.6 A, 97 %, never.
TEST(FuseCheck, AShortAtTheFarEndBlowsItSoonOrLateOrNever) {
  EXPECT_THAT(Kinds(Fused(5, 24, 10, 0.5)), IsEmpty());
  const auto late = Check(Fused(7.5, 24, 10, 0.5));
  ASSERT_EQ(late.size(), 1u);
  EXPECT_EQ(late[0].kind, FindingKind::kShortBlowsLate);
  EXPECT_THAT(late[0].what, HasSubstr("draws 14.5 A through 830 mΩ, 193 %"));
  EXPECT_THAT(late[0].what, HasSubstr("50 s"));
  EXPECT_THAT(Kinds(Fused(15, 24, 10, 0.5)),
              testing::UnorderedElementsAre("wire_below_fuse", "short_does_not_blow"));
}

}  // namespace
}  // namespace drycrank::schedule
