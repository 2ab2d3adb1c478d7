// SPDX-License-Identifier: Apache-2.0
#include <gmock/gmock.h>

#include <cmath>

#include "tests/profile/scratch.h"

namespace drycrank::profile {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

class LoadScenarioFile : public Scratch {
 protected:
  // The scenario of tests/bad_profiles/base/plain.yaml with sections of its own.
  Scenario Plain(const std::string& sections) {
    const LoadedScenario loaded = LoadScenario(Write(
        "s.yaml", "include: " DRYCRANK_TESTS_DIR "/bad_profiles/base/plain.yaml\n" + sections));
    EXPECT_EQ(Text(loaded.problems), "");
    EXPECT_EQ(loaded.scenario.has_value(), loaded.bench.has_value());
    return loaded.scenario.value_or(Scenario());
  }
};

TEST_F(LoadScenarioFile, DrivesOfEachKind) {
  Write("lap.csv", "t_s,speed\n0,1000\n2.5,3500\n");
  const Scenario s = Plain(
      "expect: []\nsteps:\n"
      "  - {name: a, for_s: 500 ms, drive: {engine_speed: {crank: 220 rpm}, boost_pressure: {ramp: "
      "25 psi}}}\n"
      "  - {name: b, for_s: 4, drive: {boost_pressure: {sine: 50, amplitude: 1 psi, period_s: 2}, "
      "coolant_temperature: 194 degF}}\n"
      "  - {name: c, for_s: 4, drive: {coolant_temperature: {points: [[0, 20], [1500 ms, 90]]}, "
      "boost_pressure: {hold: 3}}}\n"
      "  - {name: d, for_s: 4, drive: {engine_speed: {points: {csv: lap.csv, time: t_s, value: "
      "speed}}}}\n");
  ASSERT_EQ(s.steps.size(), 4u);
  EXPECT_DOUBLE_EQ(s.steps[0].for_s, 0.5);
  EXPECT_EQ(s.steps[0].drives[0].kind, DriveKind::kCrank);
  EXPECT_DOUBLE_EQ(s.steps[0].drives[0].to, 220);
  const Drive& ramp = s.steps[0].drives[1];
  EXPECT_NEAR(ramp.to, 172.368932, 1e-6);  // 25 * 6.894757, NIST SP 811
  EXPECT_DOUBLE_EQ(ramp.over_s, 0.5);      // the step's length
  EXPECT_NEAR(s.steps[1].drives[0].amplitude, 6.894757, 1e-6);
  EXPECT_NEAR(s.steps[1].drives[1].to, 90, 1e-9);
  EXPECT_EQ(s.steps[2].drives[0].points, (Points{{0, 20}, {1.5, 90}}));
  EXPECT_EQ(s.steps[3].drives[0].points, (Points{{0, 1000}, {2.5, 3500}}));
}

TEST_F(LoadScenarioFile, WaitsForNamedValueUpToALimit) {
  const Scenario s = Plain(
      "expect: []\nsteps:\n  - {name: a, wait_for: {signal: temps.sync, equals: synchronised}, "
      "limit_s: 2 s}\n");
  ASSERT_TRUE(s.steps.at(0).wait_for);
  EXPECT_DOUBLE_EQ(s.steps[0].wait_for->value, 3);
  EXPECT_EQ(s.steps[0].wait_for->signal.signal, 1);
  EXPECT_EQ(s.steps[0].wait_for->text, "temps.sync equals synchronised");
  EXPECT_DOUBLE_EQ(s.steps[0].for_s, 2);
}

// The base's sync signal has the words 0 stopped, 3 synchronised; its coolant is in degC.
TEST_F(LoadScenarioFile, ConditionsAreSaidInWordsAPersonReads) {
  const auto words = [&](const std::string& condition) {
    const Scenario s =
        Plain("expect:\n  - {name: a, kind: never, condition: {" + condition + "}, means: m}\n");
    return ConditionOf(s.expectations.at(0).kind)->text;
  };
  EXPECT_EQ(words("signal: temps.sync, equals: 3"), "temps.sync equals 3 (synchronised)");
  EXPECT_EQ(words("signal: temps.sync, equals: 2"), "temps.sync equals 2");
  EXPECT_EQ(words("signal: temps.coolant, above: 110 degC"), "temps.coolant is above 110 °C");
  EXPECT_EQ(words("signal: temps.coolant, above: 110"), "temps.coolant is above 110");
}

TEST_F(LoadScenarioFile, ConditionsConvertToTheSignalsUnit) {
  const Scenario s = Plain(
      "expect: [{name: a, kind: within, within_s: 2 min, means: m, condition: {signal: "
      "temps.coolant, above: 212 degF}}]\n");
  const auto& e = std::get<expect::Within>(s.expectations.at(0).kind);
  EXPECT_EQ(e.condition.compare, Compare::kAbove);
  EXPECT_NEAR(e.condition.value, 100, 1e-9);
  EXPECT_DOUBLE_EQ(e.within_s, 120);
}

TEST_F(LoadScenarioFile, EachKindOfExpectation) {
  const Scenario s = Plain(
      "expect:\n"
      "  - {name: a, kind: follows, signal: temps.coolant, stimulus: coolant_temperature, "
      "tolerance: 9 degF, settle_s: 1, during: [idle], proves: [coolant_signal], means: m}\n"
      "  - {name: b, kind: always, condition: {signal: temps.coolant, below: 120}, means: m}\n"
      "  - {name: c, kind: never, condition: {signal: temps.sync, not_equals: stopped}, means: m}\n"
      "  - {name: d, kind: for_at_least, condition: {signal: temps.sync, equals: 3}, for_s: 1, "
      "means: m}\n"
      "  - {name: e, kind: message_present, message: temps, jitter_ms: 2, means: m}\n"
      "  - {name: f, kind: counter, message: temps, means: m}\n"
      "  - {name: g, kind: checksum, message: temps, means: m}\n"
      "  - {name: h, kind: display_shows, gauge: coolant, value: 20, tolerance: 1, unit: °C, "
      "state: ok, means: m}\n"
      "  - {name: i, kind: synchronised, condition: {signal: temps.sync, equals: synchronised}, "
      "turns: 4, means: m}\n");
  const auto& e = s.expectations;
  ASSERT_EQ(e.size(), 9u);
  const auto& follows = std::get<expect::Follows>(e[0].kind);
  EXPECT_NEAR(follows.target.tolerance, 5, 1e-9);
  EXPECT_EQ(follows.signal_text, "temps.coolant");
  EXPECT_THAT(e[0].proves, ElementsAre("coolant_signal"));
  EXPECT_DOUBLE_EQ(std::get<expect::Never>(e[2].kind).condition.value, 0);
  // the message's own
  EXPECT_DOUBLE_EQ(std::get<expect::MessagePresent>(e[4].kind).period_ms, 100);
  const auto& shows = std::get<expect::DisplayShows>(e[7].kind);
  EXPECT_EQ(shows.unit, "degC");
  EXPECT_EQ(shows.state, "ok");
  EXPECT_DOUBLE_EQ(*shows.target.value, 20);
  EXPECT_DOUBLE_EQ(std::get<expect::Synchronised>(e[8].kind).turns, 4);
}

// The longest step of the base has 2 s.
TEST_F(LoadScenarioFile, WhatIsNeverJudgedIsRefused) {
  const auto problems = [&](const std::string& settle) {
    return Text(LoadScenario(Write("s.yaml", "include: " DRYCRANK_TESTS_DIR
                                             "/bad_profiles/base/plain.yaml\n"
                                             "expect: [{name: a, kind: never, condition: {signal: "
                                             "temps.sync, equals: 3}, means: m, "
                                             "settle_s: " +
                                                 settle + "}]\n"))
                    .problems);
  };
  EXPECT_EQ(problems("1.9 s"), "");
  EXPECT_THAT(problems("2 s"), HasSubstr("make it shorter, or a step longer"));
}

TEST_F(LoadScenarioFile, FaultsAndTheirTimes) {
  const Scenario s = Plain(
      "faults:\n  - {kind: open, at: CLT.2, during: [idle]}\n"
      "  - {name: wet, kind: leakage, at: CLT.1, ohm: 10 kohm, from_s: 500 ms, to_s: 2}\n");
  ASSERT_EQ(s.faults.size(), 2u);
  EXPECT_EQ(s.faults[0].name, "open CLT.2");
  EXPECT_THAT(s.faults[0].during, ElementsAre("idle"));
  EXPECT_DOUBLE_EQ(s.faults[1].As<fault::Leakage>()->ohm, 10000);
  EXPECT_DOUBLE_EQ(*s.faults[1].from_s, 0.5);
}

TEST_F(LoadScenarioFile, NamesEveryFileReadAndTheBench) {
  const LoadedScenario loaded =
      LoadScenario(DRYCRANK_PROFILES_DIR "/scenarios/hill_climb/healthy.yaml");
  ASSERT_TRUE(loaded.scenario) << Text(loaded.problems);
  EXPECT_EQ(loaded.scenario->bench_file, DRYCRANK_PROFILES_DIR "/benches/hill_climb.yaml");
  EXPECT_EQ(loaded.files[0], DRYCRANK_PROFILES_DIR "/scenarios/hill_climb/healthy.yaml");
  EXPECT_THAT(loaded.files, testing::Contains(DRYCRANK_PROFILES_DIR "/parts/wheels/60-2.yaml"));
  EXPECT_EQ(loaded.scenario->seed, 1u);
}

TEST_F(LoadScenarioFile, KindOfFileIsThatOfItsKind) {
  EXPECT_EQ(KindOfFile(DRYCRANK_PROFILES_DIR "/benches/hill_climb.yaml"), "bench");
  EXPECT_EQ(KindOfFile(DRYCRANK_PROFILES_DIR "/scenarios/hill_climb/healthy.yaml"), "scenario");
  EXPECT_EQ(KindOfFile(Write("part.yaml", "kind: ntc\n")), "");
}

TEST(ParseStimulusValue, ConvertsToTheStimulusUnitWithinItsRange) {
  Stimulus boost;
  boost.name = "boost_pressure";
  boost.unit = "kPa";
  boost.min = -100;
  boost.max = 250;
  EXPECT_NEAR(*ParseStimulusValue(boost, "25 psi").value, 172.368932, 1e-6);  // NIST SP 811
  EXPECT_DOUBLE_EQ(*ParseStimulusValue(boost, "-20").value, -20);
  EXPECT_EQ(ParseStimulusValue(boost, "3 bar").problem,
            "boost_pressure is 300 kPa; -100 to 250 kPa is possible");
  EXPECT_THAT(ParseStimulusValue(boost, "20 degC").problem, HasSubstr("does not convert to kPa"));
  EXPECT_FALSE(ParseStimulusValue(boost, "nan").value);
  EXPECT_FALSE(ParseStimulusValue(boost, "").value);
}

}  // namespace
}  // namespace drycrank::profile
