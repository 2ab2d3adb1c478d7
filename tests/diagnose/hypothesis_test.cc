// SPDX-License-Identifier: Apache-2.0
#include "diagnose/hypothesis.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "diagnose/reading.h"
#include "diagnose/suspects.h"
#include "diagnose/told_suspects.h"
#include "diagnose/wheel_suspects.h"
#include "profile/load.h"

namespace drycrank::diagnose {
namespace {

profile::Bench Load(const std::string& name) {
  return *profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/" + name + ".yaml").bench;
}

std::string KeyOf(std::string kind) {
  std::replace(kind.begin(), kind.end(), ' ', '_');
  return kind;
}

// What a user can weigh is what there is, and the other way round.
TEST(SingleFaults, EveryKindHasAPriorAndEveryPriorAKind) {
  std::set<std::string> kinds = {
      "terminals_of_large_connector_swapped"};  // a prior of swapped terminals
  for (const char* bench : {"hill_climb", "boat_v8", "kart", "generator", "buggy"}) {
    for (const Hypothesis& h : SingleFaults(Load(bench))) kinds.insert(KeyOf(h.kind));
    const std::vector<Hypothesis> suspects = Suspects(Load(bench));
    for (const Hypothesis& h : suspects) kinds.insert(KeyOf(h.kind));
    for (const Hypothesis& h : WheelSuspects(Load(bench), suspects)) kinds.insert(KeyOf(h.kind));
    for (const Hypothesis& h : ToldSuspects(Load(bench), suspects)) kinds.insert(KeyOf(h.kind));
  }
  std::set<std::string> priors;
  for (const profile::FaultPrior& prior : profile::UsualFaultPriors()) {
    priors.emplace(prior.kind);
  }
  EXPECT_EQ(kinds, priors);
}

TEST(SingleFaults, PriorsAreTheBenchsOwnWhereItSaysSo) {
  profile::Bench bench = Load("kart");
  bench.fault_priors["not_fitted"] = 7;
  for (const Hypothesis& h : SingleFaults(bench)) {
    if (h.kind == "not fitted") {
      EXPECT_EQ(h.prior, 7);
    }
    if (h.kind == "wire open") {
      EXPECT_EQ(h.prior, 1);
    }
  }
}

// The hill-climb display says on the bus what it shows of coolant, and nothing of the fuel level.
TEST(SingleFaults, OfAGaugeThatTellsNothingNoLayoutIsTried) {
  const auto all = SingleFaults(Load("hill_climb"));
  const auto scales_at = [&](const std::string& at) {
    return std::count_if(all.begin(), all.end(), [&](const Hypothesis& h) {
      return h.kind == "display scale" && h.faults[0].at == at;
    });
  };
  EXPECT_GT(scales_at("engine_temps.coolant"), 0);
  EXPECT_EQ(scales_at("body.fuel_level"), 0);
}

// A kart's wire that is drawn and not there cannot break.
TEST(SingleFaults, WhatIsNotFittedCannotFail) {
  profile::Bench bench = Load("kart");
  const auto named = [&](const std::string& at) {
    const auto all = SingleFaults(bench);
    return std::count_if(all.begin(), all.end(),
                         [&](const Hypothesis& h) { return h.faults[0].at == at; });
  };
  EXPECT_GT(named("head_signal"), 0);
  for (profile::Wire& wire : bench.wires) wire.fitted = wire.circuit != "head_signal";
  EXPECT_EQ(named("head_signal"), 0);
}

TEST(Words, AThermistorOfAnotherCurveMayBeItsPullUp) {
  const profile::Bench bench = Load("hill_climb");
  bool thermistor = false;
  for (const Hypothesis& h : Suspects(bench)) {
    if (h.kind != kOtherCurve) continue;
    const bool both = Describe(bench, h).ends_with("or the pull-up of its input is not");
    const bool is_resistor = h.faults[0].at == "coolant";
    thermistor = thermistor || (is_resistor && both);
    if (h.faults[0].at == "boost") {
      EXPECT_FALSE(both);
    }
  }
  EXPECT_TRUE(thermistor);
}

TEST(Words, AMegohmIsOne) {
  Hypothesis series;
  series.faults.resize(1);
  series.faults[0].kind = profile::fault::SeriesResistance{999.8e3};
  series.faults[0].at = "CLT.1";
  const std::string words = Describe(Load("hill_climb"), series);
  EXPECT_NE(words.find("1 MΩ"), std::string::npos) << words;
}

TEST(Words, WhatRoundingLeavesOfNothingIsNothing) {
  Reading speed;
  speed.unit = "km/h", speed.sigma = 1.5;
  EXPECT_EQ(InWords(speed, -1.494e-9), "0 km/h");
  EXPECT_EQ(InWords(speed, -0.001276), "0 km/h");
  EXPECT_EQ(InWords(speed, 0.1), "0.1 km/h");
}

// One for each place, whatever its size, and together as likely as one fault is.
TEST(Suspects, ASizeIsARangeAndTheirPriorsAreOfOneFault) {
  double total = 0;
  std::set<std::string> places;
  for (const Hypothesis& h : Suspects(Load("hill_climb"))) {
    total += h.prior;
    if (h.kind != "series resistance") continue;
    EXPECT_TRUE(places.insert(h.faults[0].at).second) << h.faults[0].at;
    EXPECT_LE(h.low, 0.1);
    EXPECT_GE(h.high, 100e3);
  }
  EXPECT_NEAR(total, kPriorSingle, 1e-9);
  EXPECT_TRUE(places.contains("ECU.1"));
}

}  // namespace
}  // namespace drycrank::diagnose
