// SPDX-License-Identifier: Apache-2.0
//
// Every single fault of a bench's schedule put into the bench of stand-ins, with noise, and
// diagnosed after the walk: how often the true fault, or the group of faults that look the same, is
// ranked first; and how often after at most two of the proposed next tests.
//
//   listed_faults_bench [SEEDS] [BENCH...]     default: 1 seed, all four shipped benches
//   TELL_MISSED=1 listed_faults_bench ...      also says which were missed, and what was taken for them
//
// "no effect": every reading stays within the deviations of a healthy bench (a contact of 3 ohm, a
// wheel a cycle has no use for); such a fault cannot be told from health by any reading, and is
// counted apart. Exits 1 when fewer than 95 % of the others are first after the walk, or 99 % after
// two tests.
#include <fmt/format.h>

#include <chrono>
#include <cmath>
#include <cstdlib>
#include <map>

#include "diagnose/next_test.h"
#include "tests/diagnose/walked.h"

namespace drycrank::diagnose {
namespace {

constexpr int kTests = 2;
constexpr std::size_t kAsked = 60;
constexpr double kMeterNoiseV = 0.02;

struct Row {
  int runs = 0, no_effect = 0, first = 0, after_tests = 0;
};

struct Weighted {
  Candidate candidate;
  double share = 0;
};

std::vector<Weighted> Leading(const Diagnosis& diagnosis) {
  std::vector<Weighted> leading;
  for (const Group& group : diagnosis.groups) {
    for (const Candidate& member : group.members) {
      if (leading.size() == kAsked) return leading;
      leading.push_back(
          {member, std::exp(member.log_weight - diagnosis.groups[0].members[0].log_weight)});
    }
  }
  return leading;
}

// Asks the bench with the true fault, as a person with a meter would, and keeps what fits.
bool TestAndKeep(const Walked& walked, Predictor& predictor,
                 const std::vector<profile::Fault>& truth, Random& random,
                 std::vector<Weighted>& candidates) {
  std::vector<Candidate> asked;
  std::vector<double> shares;
  for (const Weighted& weighted : candidates) {
    asked.push_back(weighted.candidate);
    shares.push_back(weighted.share + 1e-6);
  }
  const auto tests = NextTests(walked.bench(), predictor, asked, shares, 1);
  if (tests.empty()) return false;
  Predictions seen = Outcome(walked.bench(), predictor, tests[0], truth);
  if (tests[0].kind == NextTest::Kind::kVoltage) {
    seen[0] = Prediction::Value(seen[0].low() + kMeterNoiseV * random.Gauss());
  }
  std::vector<Weighted> kept;
  for (const Weighted& weighted : candidates) {
    const Predictions predicted =
        Outcome(walked.bench(), predictor, tests[0], weighted.candidate.hypothesis.faults);
    if (Apart(predictor, tests[0], seen, predicted) < kSurprisingZ) kept.push_back(weighted);
  }
  if (!kept.empty()) candidates = std::move(kept);
  return true;
}

// The true fault is the likeliest of those left, or looks the same as the likeliest.
bool IsFirst(const std::vector<Weighted>& left, const Hypothesis& truth) {
  double most = 0;
  for (const Weighted& weighted : left) most = std::max(most, weighted.share);
  Group leading;
  for (const Weighted& weighted : left) {
    if (weighted.share > most * 1e-3) leading.members.push_back(weighted.candidate);
  }
  return Holds(leading, truth);
}

class BenchOfFaults {
 public:
  BenchOfFaults(const std::string& name, bool tell)
      : walked_(name),
        predictor_(walked_.bench(), walked_.situations()),
        ranker_(walked_.bench(), predictor_),
        tell_(tell) {}

  void Run(int seeds, std::map<std::string, Row>& table) {
    std::uint64_t seed = 0;
    for (const Hypothesis& truth : ranker_.hypotheses()) {
      for (int i = 0; i < seeds; ++i) One(truth, ++seed, table[truth.kind]);
    }
  }

 private:
  void One(const Hypothesis& truth, std::uint64_t seed, Row& row) {
    const Observation observed = walked_.Observe(truth.faults, seed);
    const Diagnosis diagnosis = ranker_.Rank(observed, {.doubles = false});
    ++row.runs;
    if (diagnosis.healthy) {
      ++row.no_effect;
      return;
    }
    const bool first = Holds(diagnosis.groups[0], truth);
    row.first += first;
    std::vector<Weighted> left = Leading(diagnosis);
    Random random(seed, 7);
    for (int test = 0; test < kTests; ++test) {
      if (!TestAndKeep(walked_, predictor_, truth.faults, random, left)) break;
    }
    const bool after = first || IsFirst(left, truth);
    row.after_tests += after;
    if (tell_ && !after) Tell(truth, diagnosis);
  }

  void Tell(const Hypothesis& truth, const Diagnosis& diagnosis) const {
    fmt::print("missed: {}\n", Describe(walked_.bench(), truth));
    for (const Group& group : diagnosis.groups) {
      const Candidate& best = group.members[0];
      fmt::print("  {:5.1f} {:2} {} ({})\n", best.log_weight, best.surprises,
                 Describe(walked_.bench(), best.hypothesis), group.members.size());
    }
  }

  Walked walked_;
  Predictor predictor_;
  Ranker ranker_;
  bool tell_;
};

bool Print(const std::map<std::string, Row>& table, double seconds) {
  fmt::print("{:22} {:>6} {:>10} {:>7} {:>12}\n", "kind of fault", "runs", "no effect", "first",
             "after tests");
  Row all;
  for (const auto& [kind, row] : table) {
    fmt::print("{:22} {:6} {:10} {:7} {:12}\n", kind, row.runs, row.no_effect, row.first,
               row.after_tests);
    all.runs += row.runs;
    all.no_effect += row.no_effect;
    all.first += row.first;
    all.after_tests += row.after_tests;
  }
  const double shown = all.runs - all.no_effect;
  const double first = 100 * all.first / shown, after = 100 * all.after_tests / shown;
  fmt::print("of {} with an effect: first {:.2f} %, after two tests {:.2f} %; {:.0f} s\n", shown,
             first, after, seconds);
  return first >= 95 && after >= 99;
}

int Main(int argc, char** argv) {
  const int seeds = argc > 1 ? std::atoi(argv[1]) : 1;
  const bool tell = std::getenv("TELL_MISSED") != nullptr;
  std::vector<std::string> benches(argv + std::min(argc, 2), argv + argc);
  if (benches.empty()) benches = {"hill_climb", "boat_v8", "kart", "generator"};
  const auto begin = std::chrono::steady_clock::now();
  std::map<std::string, Row> table;
  for (const std::string& bench : benches) BenchOfFaults(bench, tell).Run(seeds, table);
  const std::chrono::duration<double> took = std::chrono::steady_clock::now() - begin;
  return Print(table, took.count()) ? 0 : 1;
}

}  // namespace
}  // namespace drycrank::diagnose

int main(int argc, char** argv) { return drycrank::diagnose::Main(argc, argv); }
