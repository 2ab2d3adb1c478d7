// SPDX-License-Identifier: Apache-2.0
//
// Whole rankings, word for word, of faults put into the shipped benches: for two commits to be compared
// by diff, when a change should alter none. The processor time that the diagnoses took goes to standard
// error.
//
//   rankings_bench [ONE_IN] [BENCH...]     default: one fault in 97 of the list, all four benches
//
// Each diagnosis has a predictor of its own, as in the program: nothing is kept from one to the next.
#include <fmt/format.h>

#include <cstdlib>
#include <ctime>

#include "diagnose/rank.h"
#include "tests/diagnose/walked.h"

namespace drycrank::diagnose {
namespace {

void Print(const profile::Bench& bench, const Ranker& ranker, const Diagnosis& diagnosis,
           const Observation& observed) {
  fmt::print("  healthy {:.6f} unknown {:.6f}{}{}\n", diagnosis.healthy_share,
             diagnosis.unknown_share, diagnosis.healthy ? " healthy" : "",
             diagnosis.explained ? " explained" : "");
  for (const Group& group : diagnosis.groups) {
    fmt::print("  {:.6f}\n", group.share);
    for (const Candidate& member : group.members) {
      fmt::print("    {:.6f} {} ({} surprises, for {}, against {})\n", member.share,
                 Describe(bench, member.hypothesis), member.surprises,
                 ranker.For(diagnosis, member, observed).size(),
                 ranker.Against(diagnosis, member, observed).size());
    }
  }
}

// Processor seconds.
double Rank(const std::string& name, std::size_t one_in) {
  Walked walked(name);
  const std::vector<Situation> situations = walked.situations();
  std::vector<Hypothesis> truths = SingleFaults(walked.bench());
  double took_s = 0;
  int count = 0;
  for (std::size_t i = one_in / 2; i < truths.size(); i += one_in) {
    // Every third time two at once.
    Hypothesis& truth = truths[i];
    const auto& other = truths[(i * 7 + 3) % truths.size()].faults;
    if (i / one_in % 3 == 2) truth.faults.insert(truth.faults.end(), other.begin(), other.end());
    const Observation observed = walked.Observe(truth.faults, i + 1);
    const auto begin = std::clock();
    Predictor predictor(walked.bench(), situations);
    Ranker ranker(walked.bench(), predictor);
    const Diagnosis diagnosis = ranker.Rank(observed);
    took_s += static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC;
    ++count;
    fmt::print("{}: {}\n", name, Describe(walked.bench(), truth));
    Print(walked.bench(), ranker, diagnosis, observed);
  }
  fmt::print(stderr, "{}: {} diagnoses, {:.3f} s each\n", name, count, took_s / count);
  return took_s;
}

int Main(int argc, char** argv) {
  const auto one_in = static_cast<std::size_t>(argc > 1 ? std::atoi(argv[1]) : 97);
  std::vector<std::string> benches(argv + std::min(argc, 2), argv + argc);
  if (benches.empty()) benches = {"hill_climb", "boat_v8", "kart", "generator"};
  double took_s = 0;
  for (const std::string& bench : benches) took_s += Rank(bench, one_in);
  fmt::print(stderr, "all: {:.2f} s\n", took_s);
  return 0;
}

}  // namespace
}  // namespace drycrank::diagnose

int main(int argc, char** argv) { return drycrank::diagnose::Main(argc, argv); }
