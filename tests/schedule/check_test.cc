// SPDX-License-Identifier: Apache-2.0
//
// Mistakes that the thirty of workshop_test.cc leave out, each put into the schedule without
// mistakes; the shipped benches; and numbers worked by hand.
#include "schedule/check.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <regex>
#include <sstream>

#include "profile/load.h"
#include "profile/sensors.h"
#include "schedule/import.h"
#include "tests/schedule/text_of.h"

namespace drycrank::schedule {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::UnorderedElementsAre;

const std::string kFolder = DRYCRANK_TESTS_DIR "/schedule/";

class Edited : public testing::Test {
 protected:
  Edited() {
    auto loaded = profile::LoadBench(kFolder + "workshop.yaml");
    if (loaded.bench) bench = std::move(*loaded.bench);
  }

  void Replace(const std::string& what, const std::string& by) {
    const auto at = csv_.find(what);
    ASSERT_NE(at, std::string::npos) << what;
    csv_.replace(at, what.size(), by);
  }
  void Remove(const std::string& begin) {
    const auto at = csv_.find("\n" + begin);
    ASSERT_NE(at, std::string::npos) << begin;
    csv_.erase(at, csv_.find('\n', at + 1) - at);
  }
  void Add(const std::string& line) { csv_ += line + "\n"; }

  CheckResult Check(bool all_proven = true) {
    const Imported imported = ImportCsv("a.csv", csv_);
    profile::Scenario scenario;
    scenario.expectations.emplace_back();
    for (const ScheduleWire& wire : imported.schedule.wires) {
      scenario.expectations.back().proves.push_back(wire.circuit.text);
    }
    return CheckSchedule(
        {&imported.schedule, &bench, all_proven ? &scenario : nullptr, imported.problems, limits});
  }
  std::vector<std::string> Kinds() {
    const CheckResult result = Check();
    std::vector<std::string> kinds;
    for (const Finding& finding : result.findings) {
      kinds.emplace_back(DescribeKind(finding.kind).word);
    }
    return kinds;
  }

  profile::Bench bench;
  Limits limits;

 private:
  std::string csv_ = TextOf(kFolder + "workshop.csv");
};

TEST_F(Edited, CoilLeadsNotTwisted) {
  Replace("1.9,crank", "1.9,");
  Replace("1.9,crank", "1.9,");
  EXPECT_THAT(Kinds(), ElementsAre("pair_not_twisted"));
}

TEST_F(Edited, BusWiresJoined) {
  Add("bridge,CANH,,CANL,,0.5,black,0.1,,");
  EXPECT_THAT(Kinds(), ElementsAre("bus_pair_short"));
}

// The display's 120 ohm in a plug of its own, across the pair; and a third beside it.
TEST_F(Edited, TerminationsInPlugsOfTheirOwn) {
  bench.connectors.push_back({"TR", "Termination", "", {"1", "2"}, {}});
  bench.loads.push_back({"end", "TR.1", "TR.2", 120});
  Add("end_high,TR,1,CANH,,0.5,white/red,0.2,end,");
  Add("end_low,TR,2,CANL,,0.5,green/red,0.2,end,");
  EXPECT_THAT(Kinds(), ElementsAre("bus_terminations"));
  for (profile::BusNode& node : bench.buses[0].nodes) {
    if (node.name == "dsp") node.termination_ohm = 0;
  }
  EXPECT_THAT(Kinds(), IsEmpty());
  std::swap(bench.loads.back().plus, bench.loads.back().minus);
  EXPECT_THAT(Kinds(), IsEmpty());
  bench.loads.back().ohm = 60;
  EXPECT_THAT(Kinds(), ElementsAre("bus_terminations"));
}

// One word for a pair that goes through a plug in line; not for one that goes elsewhere.
TEST_F(Edited, ATwistRunsOnThroughAPlugInLine) {
  bench.connectors.push_back({"MID", "In line", "", {"1", "2"}, {}});
  bench.connectors.back().in_line = true;
  Replace("can_high,DSP,1,CANH,,0.5,white,0.9,can_dsp,",
          "can_high,DSP,1,MID,1,0.5,white,0.4,can_dsp,\n"
          "can_high,MID,1,CANH,,0.5,white,0.5,can_dsp,");
  Replace("can_low,DSP,2,CANL,,0.5,green,0.9,can_dsp,",
          "can_low,DSP,2,MID,2,0.5,green,0.4,can_dsp,\n"
          "can_low,MID,2,CANL,,0.5,green,0.5,can_dsp,");
  EXPECT_THAT(Kinds(), IsEmpty());
  Replace("0.5,green,0.5,can_dsp", "0.5,green,0.7,can_dsp");
  EXPECT_THAT(Kinds(), ElementsAre("twist_lengths_differ"));
  Replace("0.5,green,0.7,can_dsp", "0.5,green,0.5,can_dsp");
  Replace("0.5,green/brown,0.9,can_ecu", "0.5,green/brown,0.9,can_dsp");
  Replace("0.5,white/brown,0.9,can_ecu", "0.5,white/brown,0.9,can_dsp");
  EXPECT_THAT(Kinds(), ElementsAre("twist_ends_differ"));
}

TEST_F(Edited, LoadWithoutWire) {
  Remove("fan_supply");
  EXPECT_THAT(Kinds(), ElementsAre("terminal_without_wire"));
}

TEST_F(Edited, CoilLeadsSwapped) {
  Replace("CKP,1,ECU,20", "CKP,1,ECU,21");
  Replace("CKP,2,ECU,21", "CKP,2,ECU,20");
  EXPECT_THAT(Kinds(), ElementsAre("leads_swapped"));
}

// A thermistor has no polarity.
TEST_F(Edited, ThermistorLeadsEitherWayRound) {
  Replace("t1_signal,T1,1", "t1_signal,T1,2");
  Replace("t1_ground,T1,2", "t1_ground,T1,1");
  EXPECT_THAT(Kinds(), IsEmpty());
}

TEST_F(Edited, SignalAtAnotherSensorsInput) {
  Remove("t14_signal");
  Replace("P9,3,ECU,46", "P9,3,ECU,38");
  EXPECT_THAT(Kinds(), UnorderedElementsAre("no_signal", "wrong_input"));
}

TEST_F(Edited, SignalOnASupply) {
  Replace("P8,3,ECU,45", "P8,3,S5C,");
  EXPECT_THAT(Kinds(), ElementsAre("signal_on_supply"));
}

TEST_F(Edited, SignalOnGround) {
  Replace("W1,3,ECU,24", "W1,3,SGD,");
  EXPECT_THAT(Kinds(), ElementsAre("signal_on_ground"));
}

TEST_F(Edited, SensorForNineVoltsOnFive) {
  Replace("level_supply,V1,1,S12", "level_supply,V1,1,S5A");
  EXPECT_THAT(Kinds(), ElementsAre("supply_too_low"));
}

TEST_F(Edited, SensorForFiveVoltsOnTwelve) {
  Replace("p9_supply,P9,1,S5E", "p9_supply,P9,1,S12");
  EXPECT_THAT(Kinds(), UnorderedElementsAre("splice_with_one_wire", "supply_too_high"));
}

// A misspelt splice leaves nine devices without ground: that is said once.
TEST_F(Edited, ConsequencesAreCountedNotSaid) {
  Replace("ECU,12,SGD", "ECU,12,SGX");
  const CheckResult result = Check();
  ASSERT_EQ(result.findings.size(), 1u) << FindingsText(result);
  EXPECT_EQ(result.findings[0].kind, FindingKind::kSpliceWithOneWire);
  EXPECT_GT(result.consequences, 0);
  EXPECT_THAT(FindingsText(result), HasSubstr("more may only follow from"));
}

// 12 V, 24 ohm: 0.499 A. Through 1 m of 0.75 mm2 (26 mohm/m, IEC 60228), a contact of 5 mohm and 20
// mohm in the controller, the ground of p9 is lifted by g = 25.4 mV. At a tenth of its range a
// sensor that gives f = 0.18 of its supply then gives g + f (5 V - g): g (1 - f) = 20.9 mV more,
// and 100 kPa are 1 V: 2.09 kPa; 1 % of its range, 4 kPa, may be.
TEST_F(Edited, SmallLoadOnASensorsGround) {
  Replace("lamp_ground,LMP,2,GP", "lamp_ground,LMP,2,SGE");
  for (profile::Load& load : bench.loads) load.ohm = load.name == "lamp" ? 24 : 1e6;
  EXPECT_THAT(Kinds(), ElementsAre("load_on_sensor_ground"));
  limits.load_a = 1;
  EXPECT_THAT(Kinds(), IsEmpty());
  limits.tolerance_percent = 0.5;  // 2 kPa
  EXPECT_THAT(Kinds(), ElementsAre("ground_moves_reading"));
  limits = Limits{};
  bench.sensors.at(static_cast<std::size_t>(profile::IndexOf(bench.sensors, "p9"))).tolerance = 2;
  const CheckResult result = Check();
  ASSERT_EQ(result.findings.size(), 1u);
  std::smatch moved;
  ASSERT_TRUE(std::regex_search(result.findings[0].what, moved,
                                std::regex(R"(reading of sensor p9 by ([+-][0-9.]+) kPa)")))
      << result.findings[0].what;
  EXPECT_NEAR(std::stod(moved[1]), 2.09, 0.05);
}

// A reference output on the battery's splice breaks that net: no current is worked out through it.
TEST_F(Edited, BrokenSupplyLeavesItsConsumersAlone) {
  Replace("reference_c,ECU,7,S5C", "reference_c,ECU,7,S12");
  EXPECT_THAT(Kinds(), UnorderedElementsAre("splice_with_one_wire", "supply_fed_twice"));
}

// Nor through a wire that is no part of the network.
TEST_F(Edited, WireToAnUnknownPinIsNoWayForACurrent) {
  Replace("fan_ground,FAN,2,GP", "fan_ground,FAN,9,GP");
  EXPECT_THAT(Kinds(), ElementsAre("unknown_pin"));
}

TEST_F(Edited, ListAloneIsCheckedWithoutABench) {
  const Imported imported = ImportCsv("a.csv", "From,To,Circuit\nCLT.1,S1,a\nCLT.1,ECU.1,b\n");
  CheckInput input;
  input.schedule = &imported.schedule;
  std::vector<std::string> kinds;
  for (const Finding& finding : CheckSchedule(input).findings) {
    kinds.emplace_back(DescribeKind(finding.kind).word);
  }
  EXPECT_THAT(kinds, UnorderedElementsAre("no_gauge", "no_length", "splice_with_one_wire",
                                          "terminal_used_twice"));
}

// By the walk a load's circuits cannot be proven; those of a bus are by its messages.
TEST_F(Edited, WhatTheWalkCannotProve) {
  const CheckResult result = Check(false);
  std::vector<std::string> circuits;
  for (const Finding& finding : result.findings) {
    EXPECT_EQ(finding.kind, FindingKind::kNotProvable) << finding.what;
    circuits.insert(circuits.end(), finding.circuits.begin(), finding.circuits.end());
  }
  EXPECT_THAT(circuits, testing::IsSupersetOf({"fan_supply", "fan_ground", "lamp_supply"}));
  EXPECT_THAT(circuits, testing::Not(testing::Contains(HasSubstr("can_"))));
}

// ---- a consumer at the end of two wires -------------------------------------------------------

profile::Bench OneLoad(const std::string& gauge, double mohm_per_m, double ohm) {
  profile::Bench bench;
  for (const char* name : {"BAT", "LMP"}) {
    profile::Connector connector;
    connector.name = name;
    connector.pins = {"1", "2"};
    bench.connectors.push_back(connector);
  }
  bench.supplies.push_back({"battery", "BAT.1", "BAT.2", 12, 0.02});
  bench.loads.push_back({"lamp", "LMP.1", "LMP.2", ohm});
  for (const char* pin : {"1", "2"}) {
    profile::Wire wire;
    wire.circuit = std::string("lamp_") + pin;
    wire.from = std::string("BAT.") + pin;
    wire.to = std::string("LMP.") + pin;
    wire.length_m = 3;
    wire.gauge = gauge;
    wire.mohm_per_m = mohm_per_m;
    wire.has_length = wire.has_gauge = true;
    bench.wires.push_back(wire);
  }
  return bench;
}

std::vector<Finding> Thin(const profile::Bench& bench, double drop_percent = 3) {
  const Schedule schedule = ScheduleOf(bench);
  CheckInput input;
  input.schedule = &schedule;
  input.bench = &bench;
  input.limits.drop_percent = drop_percent;
  std::vector<Finding> findings = CheckSchedule(input).findings;
  std::erase_if(findings, [](const Finding& f) { return f.kind != FindingKind::kWireTooThin; });
  return findings;
}

// 1.5 mm2: 13.3 mohm/m (IEC 60228, class 5, tests/reference/wire_resistance.csv). Each wire of 3 m:
// 39.9 mohm. I = 12 V / (1 + 2 * 0.0399 + 4 contacts * 0.005 + 0.02 ohm) = 10.72 A: each wire loses
// 0.428 V, both 0.855 V or 7.1 % of 12 V.
TEST(WireDrop, AgreesWithIec60228) {
  const auto findings = Thin(OneLoad("1.5 mm2", 13.3, 1));
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_THAT(
      findings[0].what,
      HasSubstr("11 A through 3 m of 1.5 mm2 (13.3 mΩ/m) lose 0.43 V; load lamp gets 0.86 V "
                "less than 12 V, 7.1 %"));
  EXPECT_THAT(findings[0].remedy, HasSubstr("no gauge of this one wire alone"));
  EXPECT_THAT(Thin(OneLoad("1.5 mm2", 13.3, 1), 7.2), IsEmpty());
}

// 16 AWG: 4.016 ohm per 1000 ft (ASTM B258 as printed, tests/reference/wire_resistance.csv), 13.176
// mohm/m. I = 12 V / (2.4 + 2 * 0.03953 + 0.04 ohm) = 4.76 A; 0.188 V each, 0.377 V both, 3.1 %.
// With 14 AWG (8.284 mohm/m) in one of them: 0.118 + 0.188 = 0.307 V, below 3 % (0.36 V).
TEST(WireDrop, AgreesWithAstmB258AndNamesTheGaugeThatWouldDo) {
  const auto findings = Thin(OneLoad("16 AWG", 13.176, 2.4));
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_THAT(findings[0].what, HasSubstr("4.8 A through 3 m of 16 AWG (13.176 mΩ/m) lose 0.19 V"));
  EXPECT_THAT(findings[0].what, HasSubstr("3.1 %"));
  EXPECT_THAT(findings[0].remedy, testing::StartsWith("14 AWG is enough"));
}

// ---- benches ----------------------------------------------------------------------------------

TEST(CheckBench, ShippedBenchesHaveNoErrorOnPaper) {
  int benches = 0;
  for (const auto& entry : std::filesystem::directory_iterator(DRYCRANK_PROFILES_DIR "/benches")) {
    const auto loaded = profile::LoadBench(entry.path().string());
    ASSERT_TRUE(loaded.bench) << entry.path();
    const Schedule schedule = ScheduleOf(*loaded.bench);
    CheckInput input;
    input.schedule = &schedule;
    input.bench = &*loaded.bench;
    for (const Finding& finding : CheckSchedule(input).findings) {
      EXPECT_FALSE(finding.is_error()) << finding.place.file << ": " << finding.what;
    }
    ++benches;
  }
  EXPECT_EQ(benches, 6);
}

TEST(CheckBench, SaysWhatTheLoaderWouldRefuse) {
  const std::string path = DRYCRANK_TESTS_DIR "/bad_profiles/wires.yaml";
  ASSERT_FALSE(profile::LoadBench(path).bench);
  auto loaded = profile::LoadBenchAsDrawn(path);
  for (const Diagnostic& problem : loaded.problems) {
    EXPECT_THAT(problem.what, testing::AnyOf(HasSubstr("twice"), HasSubstr("'length_m' is 500"),
                                             HasSubstr("no 'circuit'")));
  }
}

TEST(CheckBench, NamesUnknownAndUnusedSplices) {
  profile::Bench bench = OneLoad("1.5 mm2", 13.3, 100);
  bench.splices = {"S_GND"};
  bench.wires[0].to = "S_GDN";
  const Schedule schedule = ScheduleOf(bench);
  CheckInput input;
  input.schedule = &schedule;
  input.bench = &bench;
  std::vector<std::string> kinds;
  for (const Finding& finding : CheckSchedule(input).findings) {
    kinds.emplace_back(DescribeKind(finding.kind).word);
  }
  EXPECT_THAT(kinds, testing::IsSupersetOf({"unknown_splice", "splice_without_wire"}));
}

TEST(Findings, AreTextAndJson) {
  CheckResult result;
  result.findings.push_back(
      {FindingKind::kNoGround, {"a.csv", 3, 5}, "no \"ground\"", "wire it", {"c"}, {"CLT.2"}});
  result.findings.push_back({FindingKind::kColourTwice, {"a.csv", 4, 1}, "two red", "", {}, {}});
  EXPECT_EQ(FindingsText(result),
            "a.csv:3:5: error: no \"ground\"; wire it  [no_ground]\n"
            "a.csv:4:1: note: two red  [colour_twice]\n1 error, 1 note.\n");
  const auto json = nlohmann::json::parse(FindingsJson("a.csv", result));
  EXPECT_EQ(json["errors"], 1);
  EXPECT_EQ(json["findings"][0]["kind"], "no_ground");
  EXPECT_EQ(json["findings"][0]["ends"][0], "CLT.2");
  EXPECT_EQ(json["findings"][1]["severity"], "note");
}

// Whoever meets a word finds it explained.
TEST(Findings, AreExplainedInTheNotes) {
  const std::string page = TextOf(DRYCRANK_TESTS_DIR "/../hw-notes/making-a-schedule.md");
  for (const KindOfFinding& kind : FindingKinds()) {
    EXPECT_THAT(page, HasSubstr("| `" + std::string(kind.word) + "` |"));
  }
}

}  // namespace
}  // namespace drycrank::schedule
