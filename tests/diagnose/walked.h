// SPDX-License-Identifier: Apache-2.0
//
// A shipped bench walked through with faults put in, as a diagnosis sees it. Every sensor has an
// error of its own, drawn from the seed: a deviation of 0.3 % of its span (invented; a good part).
#ifndef DRYCRANK_TESTS_DIAGNOSE_WALKED_H_
#define DRYCRANK_TESTS_DIAGNOSE_WALKED_H_

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "diagnose/rank.h"
#include "profile/load.h"
#include "profile/sensors.h"
#include "run/runner.h"
#include "study/of_the_cycle.h"
#include "study/readings.h"
#include "types/random.h"
#include "walk/walk.h"

namespace drycrank::diagnose {

struct WalkedFile {
  std::string path;
};

class Walked {
 public:
  explicit Walked(const std::string& shipped)
      : Walked(WalkedFile{DRYCRANK_PROFILES_DIR "/benches/" + shipped + ".yaml"}) {}
  explicit Walked(const WalkedFile& file) {
    profile::LoadedBench loaded = profile::LoadBench(file.path);
    for (const Diagnostic& problem : loaded.problems) {
      std::fprintf(stderr, "%s\n", Format(problem).c_str());
    }
    if (!loaded.bench) std::abort();
    Walk(std::move(*loaded.bench));
  }
  explicit Walked(profile::Bench bench) { Walk(std::move(bench)); }

  const profile::Bench& bench() const { return bench_; }
  const walk::Walk& walk() const { return walk_; }
  const std::vector<Situation>& situations() const { return situations_; }  // of the last walk
  const FiredSeen& fired() const { return fired_; }  // of the last walk, as is the next
  const EdgesSeen& edges() const { return edges_; }
  bool cycle_failed() const { return cycle_failed_; }  // as study/of_the_cycle.h has it
  const std::vector<Stranger>& strangers() const { return strangers_; }

  // Seed 0: sensors without errors.
  Observation Observe(std::vector<profile::Fault> faults, std::uint64_t seed) {
    if (seed != 0) AddSensorErrors(faults, seed);
    return ObserveOn(bench_, std::move(faults), seed);
  }

  // On a bench that is not built as drawn: the same walk.
  Observation ObserveOn(const profile::Bench& built, std::vector<profile::Fault> faults,
                        std::uint64_t seed) {
    profile::Scenario scenario = walk_.scenario;
    scenario.faults = std::move(faults);
    run::RunOptions options;
    options.seed = seed + 1;
    run::Runner runner(built, scenario, options);
    study::Readings readings(bench_, scenario, runner.timeline());
    runner.AddObserver(&readings);
    runner.Start();
    while (!runner.finished()) runner.RunTo(runner.NextDueNs());
    situations_ = readings.situations();
    fired_ = readings.fired();
    edges_ = readings.edges();
    cycle_failed_ = study::FailedOfTheCycle(bench_, scenario, runner.checker().verdicts());
    strangers_ = readings.strangers();
    return readings.observation();
  }

 private:
  void Walk(profile::Bench bench) {
    bench_ = std::move(bench);
    walk_ = walk::MakeWalk(bench_);
    Observe({}, 0);
  }

  void AddSensorErrors(std::vector<profile::Fault>& faults, std::uint64_t seed) const {
    Random random(seed, 99);
    for (const profile::Sensor& sensor : bench_.sensors) {
      if (std::holds_alternative<profile::SwitchSensor>(sensor.model)) continue;
      const auto& stimulus = bench_.stimuli[static_cast<std::size_t>(sensor.stimulus)];
      const double span = std::min(sensor.max, stimulus.max) - std::max(sensor.min, stimulus.min);
      profile::Fault error;
      error.kind = profile::fault::SensorOffset{0.003 * span * random.Gauss()};
      error.name = "error of " + sensor.name;
      error.at = sensor.name;
      faults.push_back(error);
    }
  }

  profile::Bench bench_;
  walk::Walk walk_;
  std::vector<Situation> situations_;
  FiredSeen fired_;
  EdgesSeen edges_;
  bool cycle_failed_ = false;
  std::vector<Stranger> strangers_;
};

// Does the group hold this fault: same kind, same places?
inline bool Holds(const Group& group, const Hypothesis& truth) {
  return std::any_of(group.members.begin(), group.members.end(), [&](const Candidate& member) {
    const auto& faults = member.hypothesis.faults;
    if (faults.size() != truth.faults.size()) return false;
    return std::equal(faults.begin(), faults.end(), truth.faults.begin(),
                      [](const profile::Fault& a, const profile::Fault& b) {
                        return a.kind.index() == b.kind.index() && a.at == b.at && a.with == b.with;
                      });
  });
}

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_TESTS_DIAGNOSE_WALKED_H_
