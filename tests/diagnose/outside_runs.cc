// SPDX-License-Identifier: Apache-2.0
#include "tests/diagnose/outside_runs.h"

#include <fmt/format.h>

#include <ctime>
#include <map>
#include <utility>

#include "diagnose/predict.h"
#include "tests/diagnose/outside_world.h"

namespace drycrank::diagnose {
namespace {

double ProcessorS() { return static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }

struct Counts {
  int runs = 0, effect = 0, right = 0, place = 0, unknown = 0, healthy = 0, wrong_and_sure = 0;

  void Add(const OutsideRun& run) {
    ++runs;
    effect += run.effect;
    right += run.answered.right;
    place += run.answered.place;
    unknown += run.answered.what == Answered::What::kUnknown;
    healthy += run.answered.what == Answered::What::kHealthy;
    wrong_and_sure += run.is_wrong_and_sure();
  }
  std::string Line(const std::string& name) const {
    return fmt::format("{:38} {:5} {:7} {:8.1f} {:8.1f} {:8} {:8} {:12}\n", name, runs, effect,
                       100.0 * right / runs, 100.0 * place / runs, unknown, healthy,
                       wrong_and_sure);
  }
};

}  // namespace

OutsideRun RunOutside(std::uint64_t seed, support::SolvedBy by, With with) {
  const profile::Bench bench = DrawnBench(seed, with);
  Random random(seed, 1);
  const OutsideWorld world(bench);
  Truth truth = DrawTruth(bench, random);
  while (world.BlowsAFuse(truth)) truth = DrawTruth(bench, random);
  const support::Departure tolerances = DrawTolerances(bench, random);
  const Observation observed = world.Observe(truth, tolerances, random, by);
  const CleanRows clean = world.Clean(truth);
  Predictor predictor(bench, world.situations());
  const Measure measure{bench, world.readings(), world.healthy(), clean, predictor};
  Ranker ranker(bench, predictor);
  const double begin_s = ProcessorS();
  const Diagnosis diagnosis = ranker.Rank(observed);
  OutsideRun run{seed, truth.group, truth.kind(), truth.words(), !measure.moves_nothing(), {}, 0};
  run.processor_s = ProcessorS() - begin_s;
  run.answered = Judged(measure, truth, diagnosis);
  return run;
}

std::string TruthTable(const std::vector<OutsideRun>& runs) {
  std::map<std::pair<TruthGroup, std::string>, Counts> kinds;
  std::map<TruthGroup, Counts> groups, with_effect;
  Counts all;
  for (const OutsideRun& run : runs) {
    all.Add(run);
    groups[run.group].Add(run);
    if (run.effect) with_effect[run.group].Add(run);
    if (run.group != TruthGroup::kDouble) kinds[{run.group, run.kind}].Add(run);
  }
  std::string text =
      fmt::format("{:38} {:>5} {:>7} {:>8} {:>8} {:>8} {:>8} {:>12}\n", "truth", "runs", "effect",
                  "right %", "place %", "unknown", "healthy", "wrong at 95+");
  for (const auto& [group, counts] : groups) {
    text += counts.Line(Name(group));
    if (with_effect.contains(group)) text += with_effect[group].Line("- of these with an effect");
  }
  text += all.Line("all") + "\n";
  for (const auto& [kind, counts] : kinds) text += counts.Line("  " + kind.second);
  return text;
}

std::string ReliabilityTable(const std::vector<OutsideRun>& runs) {
  constexpr std::pair<const char*, double> kRows[] = {{">= 99.9 %", 0.999},
                                                      {"99 to 99.9 %", 0.99},
                                                      {"90 to 99 %", 0.9},
                                                      {"50 to 90 %", 0.5},
                                                      {"< 50 %", 0}};
  std::string text = fmt::format("{:14} {:>6} {:>12} {:>9} {:>16}\n", "called", "runs",
                                 "said, mean %", "right %", "singles: right %");
  double below = 1.1;
  for (const auto& [name, least] : kRows) {
    int count = 0, right = 0, singles = 0, singles_right = 0;
    double said = 0;
    for (const OutsideRun& run : runs) {
      if (run.answered.share < least || run.answered.share >= below) continue;
      ++count;
      said += run.answered.share;
      right += run.answered.right;
      if (run.group != TruthGroup::kSingle && run.group != TruthGroup::kCorrodedPin) continue;
      ++singles;
      singles_right += run.answered.right;
    }
    below = least;
    text += fmt::format("{:14} {:6} {:12.2f} {:9.1f} {:16.1f}\n", name, count,
                        100 * said / std::max(count, 1), 100.0 * right / std::max(count, 1),
                        100.0 * singles_right / std::max(singles, 1));
  }
  return text;
}

}  // namespace drycrank::diagnose
