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
constexpr double kMeterNoiseV = 0.02;

struct Row {
  int runs = 0, no_effect = 0, first = 0, after_tests = 0;
};

// What the bench with the true fault answers, as a person with a meter would read it.
double AnswerOf(MeasuredModel& model, const Test& test, const Hypothesis& truth, Random& random) {
  const Foretold shown = model.Foretell(test, truth.faults);
  if (const auto* probing = std::get_if<Probing>(&test)) {
    const double noise = probing->meter == Meter::kVolts ? kMeterNoiseV * random.Gauss() : 0;
    return FromScale(probing->meter, shown.meter.y) + noise;
  }
  if (!std::holds_alternative<SignalTest>(test)) return shown.yes > 0.5 ? 1 : 0;
  return shown.signal.is_none() ? std::nan("") : shown.signal.low();
}

// The true fault is among the likeliest of those left.
bool IsFirst(const Narrowed& narrowed, const Hypothesis& truth) {
  Group leading;
  for (const Suspect& suspect : narrowed.suspects) {
    if (suspect.share > narrowed.suspects[0].share * 1e-3) {
      leading.members.push_back(*suspect.candidate);
    }
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
    const bool after = first || IsFirst(AfterTests(diagnosis, observed, truth, seed), truth);
    row.after_tests += after;
    if (tell_ && !after) Tell(truth, diagnosis);
  }

  Narrowed AfterTests(const Diagnosis& diagnosis, const Observation& observed,
                      const Hypothesis& truth, std::uint64_t seed) {
    MeasuredModel model(walked_.bench(), predictor_, observed);
    const Repairs repairs(walked_.bench());
    Random random(seed, 7);
    std::vector<Answered> answers;
    AtHand at_hand;
    Narrowed left = Narrow(model, repairs, diagnosis, answers);
    for (int i = 0; i < kTests; ++i) {
      const auto tests = NextTests(model, left, at_hand, 1);
      if (tests.empty()) break;
      answers.push_back({tests[0].test, AnswerOf(model, tests[0].test, truth, random)});
      at_hand.done.push_back(tests[0].test);
      left = Narrow(model, repairs, diagnosis, answers);
    }
    return left;
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
