// SPDX-License-Identifier: Apache-2.0
//
// Wires and contacts that open at any time of a walk, for a while or for good, on the four shipped benches
// (invented), at places and times drawn by a seed; the evidence is not told. Whose circuit the fault is, is
// read from the wires of the file. TRIALS=2000 in the environment draws as many of each kind instead of
// those of every day.
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <map>
#include <random>
#include <set>
#include <string>

#include "profile/load.h"
#include "study/play.h"
#include "study/walk_answers.h"
#include "types/clock.h"
#include "walk/walk.h"

namespace drycrank::study {
namespace {

using check::CircuitState;
using testing::IsEmpty;
using testing::UnorderedElementsAre;

class Walked {
 public:
  Walked(const std::string& bench, const std::vector<std::string>& faults) : bench_(Load(bench)) {
    const walk::Walk walk = walk::MakeWalk(bench_);
    profile::Scenario scenario = walk.scenario;
    for (const std::string& fault : faults) {
      profile::ParsedFault parsed = profile::ParseFault(bench_, fault);
      if (!parsed.fault) ADD_FAILURE() << fault;
      if (parsed.fault) scenario.faults.push_back(*parsed.fault);
    }
    VirtualClock clock;
    PlayOptions options;
    options.clock = &clock;
    options.pictures = options.weigh = false;
    report_ = Play(bench_, scenario, options).report;
    report_.bench = &bench_;
    AddAnswers(walk, {}, {}, scenario, report_);
  }

  std::set<std::string> In(CircuitState state) const {
    std::set<std::string> names;
    for (const auto& c : report_.coverage) {
      if (c.state == state) names.insert(c.circuit);
    }
    return names;
  }
  std::set<std::string> Failed() const { return In(CircuitState::kFailed); }
  // Did an expectation fail, or was it not observed?
  bool IsNoticed() const {
    return std::ranges::any_of(report_.verdicts, [](const check::Verdict& verdict) {
      return verdict.outcome == check::Outcome::kFailed ||
             verdict.outcome == check::Outcome::kNotObserved;
    });
  }

  static const profile::Bench& Load(const std::string& name) {
    static std::map<std::string, profile::LoadedBench> loaded;
    auto& bench = loaded[name];
    if (!bench.bench) {
      bench = profile::LoadBench(fmt::format(DRYCRANK_PROFILES_DIR "/benches/{}.yaml", name));
    }
    return *bench.bench;
  }
  static double SecondsOf(const std::string& name) {
    double seconds = 0;
    for (const auto& step : walk::MakeWalk(Load(name)).scenario.steps) seconds += step.for_s;
    return seconds;
  }

 private:
  const profile::Bench& bench_;
  report::Report report_;
};

// A place where a bench can come apart, and the circuits that it parts.
struct Place {
  std::string name;
  std::set<std::string> circuits;
};
std::vector<Place> PlacesOf(const profile::Bench& bench) {
  std::map<std::string, std::set<std::string>> circuits;
  for (const profile::Wire& wire : bench.wires) {
    if (!wire.fitted) continue;
    for (const std::string& name : {wire.circuit, wire.from, wire.to}) {
      const bool is_splice = std::ranges::count(bench.splices, name) > 0;
      if (!is_splice) circuits[name].insert(wire.circuit);
    }
  }
  std::vector<Place> places;
  for (auto& [name, parted] : circuits) places.push_back({name, std::move(parted)});
  return places;
}

struct Tally {
  int trials = 0, noticed = 0, named = 0, blamed_another = 0;
};

class Trials {
 public:
  explicit Trials(unsigned seed) : random_(seed) {}

  // `times`: of a walk of so many seconds, in YAML; empty: from the begin to the end.
  template <class Times>
  void Run(const Times& times) {
    static const std::vector<std::string> kBenches = {"hill_climb", "generator", "boat_v8", "kart"};
    const std::string& bench = kBenches[Below(kBenches.size())];
    const std::vector<Place> places = PlacesOf(Walked::Load(bench));
    const Place& place = places[Below(places.size())];
    const std::string fault =
        fmt::format("{{kind: open, at: {}{}}}", place.name, times(*this, Walked::SecondsOf(bench)));
    Judge(Walked(bench, {fault}), place.circuits, bench + " " + fault);
  }
  double Between(double low, double high) {
    return low + (high - low) * static_cast<double>(random_() % 100000) / 100000;
  }
  const Tally& tally() const { return tally_; }

 private:
  std::size_t Below(std::size_t count) { return random_() % count; }

  void Judge(const Walked& walked, const std::set<std::string>& parted, const std::string& what) {
    ++tally_.trials;
    if (!walked.IsNoticed()) return;
    ++tally_.noticed;
    const auto has = [&](const std::set<std::string>& some) {
      return std::ranges::any_of(parted, [&](const auto& c) { return some.contains(c); });
    };
    EXPECT_FALSE(has(walked.In(CircuitState::kProven))) << what << ": proven";
    const std::set<std::string> failed = walked.Failed();
    if (has(failed)) {
      ++tally_.named;
    } else if (!failed.empty()) {
      ++tally_.blamed_another;
      fmt::print("{}: blamed {}\n", what, *failed.begin());
    }
  }

  std::mt19937 random_;
  Tally tally_;
};

template <class Times>
Tally RunTrials(unsigned seed, const Times& times) {
  const char* wanted = std::getenv("TRIALS");
  const int count = wanted == nullptr ? 24 : std::atoi(wanted);
  Trials trials(seed);
  for (int i = 0; i < count; ++i) trials.Run(times);
  const Tally& t = trials.tally();
  fmt::print("{} trials, {} noticed: {} named, {} blamed another\n", t.trials, t.noticed, t.named,
             t.blamed_another);
  EXPECT_GT(t.noticed, t.trials / 5);
  EXPECT_LE(t.blamed_another, t.noticed / 20);
  return t;
}

TEST(FaultsInTime, WhatOpensInTheRunIsNeverProven) {
  const Tally t = RunTrials(11, [](Trials& draw, double seconds) {
    return fmt::format(", from_s: {:.2f}", draw.Between(0, seconds - 3));
  });
  EXPECT_GE(t.named, 0.9 * t.noticed);
}

TEST(FaultsInTime, WhatOpensNearTheEndIsNeverProven) {
  const Tally t = RunTrials(12, [](Trials& draw, double seconds) {
    return fmt::format(", from_s: {:.2f}", seconds - draw.Between(0.3, 3));
  });
  EXPECT_GE(t.named, 0.5 * t.noticed);
}

TEST(FaultsInTime, WhatComesAndGoesIsNeverProven) {
  RunTrials(13, [](Trials& draw, double seconds) {
    const double from_s = draw.Between(0, seconds - 3);
    return fmt::format(", from_s: {:.2f}, to_s: {:.2f}", from_s, from_s + draw.Between(0.2, 2.5));
  });
}

// Its messages of a second come at 32.0 and 33.0 s: what has come since must not be taken from before.
TEST(FaultsInTime, ASupplyLostInTheLastSecondFails) {
  const Walked walked("generator", {"{kind: open, at: B.1, from_s: 32.8}"});
  EXPECT_THAT(walked.Failed(), UnorderedElementsAre("supply", "ground"));
}

TEST(FaultsInTime, AFeedLostInTheLastSecondFailsAlone) {
  const Walked walked("generator", {"{kind: open, at: J1.4, from_s: 32.8}"});
  EXPECT_THAT(walked.Failed(), UnorderedElementsAre("sensor_5v"));
}

// Two sensors share a ground that everything else proves.
TEST(FaultsInTime, TwoOpenSensorsDoNotBlameTheirGround) {
  const Walked walked("generator",
                      {"{kind: open, at: manifold_ground}", "{kind: open, at: FDP.2}"});
  EXPECT_FALSE(walked.Failed().contains("sensor_ground"));
  EXPECT_TRUE(walked.Failed().contains("manifold_ground"));
  EXPECT_TRUE(walked.Failed().contains("fuel_ground"));
}

// An open ground would silence the controller; 5 ohm in it takes some of its supply.
TEST(FaultsInTime, ABadGroundOfTheControllerIsInDoubt) {
  const Walked walked("boat_v8", {"{kind: series_resistance, at: ground, ohm: 5}"});
  ASSERT_TRUE(walked.IsNoticed());
  EXPECT_THAT(walked.Failed(), IsEmpty());
  EXPECT_FALSE(walked.In(CircuitState::kProven).contains("ground"));
  EXPECT_FALSE(walked.In(CircuitState::kProven).contains("supply"));
  EXPECT_TRUE(walked.In(CircuitState::kProven).contains("coolant_signal"));
}

// The supply is worst while the engine's speed still rises, where no moment is steady.
TEST(FaultsInTime, WhatFailsOnTheWayIsInDoubtToo) {
  const Walked walked("generator",
                      {"{kind: series_resistance, at: supply, ohm: 2.9, from_s: 8.62}"});
  ASSERT_TRUE(walked.IsNoticed());
  EXPECT_THAT(walked.Failed(), IsEmpty());
  EXPECT_FALSE(walked.In(CircuitState::kProven).contains("supply"));
  EXPECT_FALSE(walked.In(CircuitState::kProven).contains("ground"));
}

// Its slow messages come once or twice a second: for most of the walk it says nothing at all.
TEST(FaultsInTime, ASupplyThatIsBackBeforeTheEngineTurnsIsNoticed) {
  const Walked walked("generator", {"{kind: open, at: B.1, from_s: 1.6, to_s: 25.9}"});
  ASSERT_TRUE(walked.IsNoticed());
  EXPECT_FALSE(walked.In(CircuitState::kProven).contains("supply"));
}

// Edges come to the pins of a controller without supply, too: they prove no supply.
TEST(FaultsInTime, ASupplyThatWasNeverThereFails) {
  const Walked walked("generator", {"{kind: open, at: J1.1}"});
  EXPECT_THAT(walked.Failed(), testing::IsSupersetOf({"supply"}));
  EXPECT_FALSE(walked.Failed().contains("cam_signal"));
}

// Gone for 50 ms: the position is lost for longer, and the messages are back before that shows.
TEST(FaultsInTime, AnInstantWithoutGroundDoubtsIt) {
  const Walked walked("hill_climb", {"{kind: open, at: ECU.2, from_s: 46.05, to_s: 46.10}"});
  ASSERT_TRUE(walked.IsNoticed());
  EXPECT_THAT(walked.Failed(), IsEmpty());
  EXPECT_FALSE(walked.In(CircuitState::kProven).contains("ground"));
}

// All of the reference wheel's edges come, 15 degrees early: it is no wire of its sensor.
TEST(FaultsInTime, AWheelMountedWrongBlamesNoWire) {
  const Walked walked("kart", {"{kind: wheel_offset, at: teeth, deg: 15}"});
  ASSERT_TRUE(walked.IsNoticed());
  EXPECT_THAT(walked.Failed(), IsEmpty());
}

}  // namespace
}  // namespace drycrank::study
