// SPDX-License-Identifier: Apache-2.0
//
// How long it takes to score every fault of harnesses of 50 to 1,000 circuits, and every pair of
// faults of those up to 200, on one core.
//
//   diagnosis_speed_bench [--singles] [CIRCUITS...]     default: 50 120 200 1000
//
// The observation is that of a fault drawn by a seed, with an input's noise and in the steps of its
// signal; the mean of three. No prediction is kept from one to the next. Processor time.
#include <fmt/format.h>

#include <cstdlib>
#include <ctime>
#include <string_view>

#include "diagnose/rank.h"
#include "profile/bench.h"
#include "tests/diagnose/large_bench.h"
#include "tests/diagnose/walked.h"
#include "types/random.h"

namespace drycrank::diagnose {
namespace {

constexpr int kTruths = 3;

// Of processor time.
double Now() { return static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }

void Measure(int circuits) {
  const LargeBench large(circuits);
  const double begin = Now();
  Predictor predictor(large.bench(), large.situations());
  Ranker ranker(large.bench(), predictor);
  const double ready_s = Now() - begin;
  Random random(1, static_cast<std::uint64_t>(circuits));
  double took_s = 0;
  int first = 0;
  const auto& all = ranker.hypotheses();
  for (int tried = 0; tried < kTruths;) {
    const Hypothesis& truth = all[random.Next() % all.size()];
    const Observation observed =
        ReadWithNoise(predictor, AsSeen(predictor.Predict(truth.faults)), random);
    const double from = Now();
    const Diagnosis diagnosis = ranker.Rank(observed, {.doubles = false});
    if (diagnosis.healthy) continue;  // it moves no reading
    took_s += Now() - from;
    ++tried;
    first += Holds(diagnosis.groups[0], truth);
  }
  took_s /= kTruths;
  const double faults = static_cast<double>(ranker.hypotheses().size());
  const double readings =
      static_cast<double>(predictor.readings().size() * predictor.situations().size());
  fmt::print(
      "{:5} circuits {:6} faults {:7} readings   ready {:.3f} s   all scored {:8.4f} s   "
      "{:5.2f} ns a fault and reading   {} of {} first\n",
      large.Circuits(), faults, readings, ready_s, took_s, 1e9 * took_s / (faults * readings),
      first, kTruths);
}

// Two faults at once, when no single one explains.
void MeasurePairs(int circuits) {
  const LargeBench large(circuits);
  Predictor predictor(large.bench(), large.situations());
  Ranker ranker(large.bench(), predictor);
  Random random(2, static_cast<std::uint64_t>(circuits));
  double took_s = 0;
  int explained = 0, tried = 0;
  const auto& all = ranker.hypotheses();
  while (tried < kTruths) {
    Hypothesis both = all[random.Next() % all.size()];
    const Hypothesis& other = all[random.Next() % all.size()];
    both.faults.insert(both.faults.end(), other.faults.begin(), other.faults.end());
    const Observation observed =
        ReadWithNoise(predictor, AsSeen(predictor.Predict(both.faults)), random);
    if (ranker.Rank(observed, {.doubles = false}).explained) continue;
    const double from = Now();
    const Diagnosis diagnosis = ranker.Rank(observed);
    took_s += Now() - from;
    ++tried;
    explained += diagnosis.explained;
  }
  const double pairs = 0.5 * static_cast<double>(all.size()) * static_cast<double>(all.size() - 1);
  fmt::print(
      "{:5} circuits {:10.0f} pairs   all scored {:7.3f} s   {:.0f} ns a pair   {} of {} "
      "explained\n",
      large.Circuits(), pairs, took_s / kTruths, 1e9 * took_s / kTruths / pairs, explained,
      kTruths);
}

int Main(int argc, char** argv) {
  std::vector<int> sizes;
  const bool singles = argc > 1 && std::string_view(argv[1]) == "--singles";
  for (int i = singles ? 2 : 1; i < argc; ++i) sizes.push_back(std::atoi(argv[i]));
  if (sizes.empty()) sizes = {50, 120, 200, 1000};
  for (const int circuits : sizes) Measure(circuits);
  for (const int circuits : sizes) {
    if (circuits <= 200 && !singles) MeasurePairs(circuits);
  }
  return 0;
}

}  // namespace
}  // namespace drycrank::diagnose

int main(int argc, char** argv) { return drycrank::diagnose::Main(argc, argv); }
