// SPDX-License-Identifier: Apache-2.0
//
// Every single fault of the shipped benches' schedules: walked, diagnosed, and asked with a meter until
// one repair is named. The meter's answers are ngspice's (tests/diagnose/asked_world.h).
//
//   dialogue_bench [ONE_IN] [BENCH...]      default: every one, all four shipped benches
//   SEED=7 dialogue_bench ...               others of each kind, with other draws of wires and meter
//   ONLY=CU.4 dialogue_bench ...            of these those that are described with that
//   TELL=1 dialogue_bench ...               also the dialogues that ended without the right repair
//
// Exits 1 when the median of readings is more than two, or a truth was excluded.
#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <map>

#include "tests/diagnose/asked_world.h"

namespace drycrank::diagnose {
namespace {

struct Row {
  int runs = 0, healthy = 0, not_suspected = 0, named = 0, right = 0, excluded = 0;
  std::vector<int> readings;
};

int Quantile(std::vector<int> readings, double share) {
  if (readings.empty()) return 0;
  std::ranges::sort(readings);
  const auto at = static_cast<std::size_t>(share * static_cast<double>(readings.size() - 1) + 0.5);
  return readings[at];
}

void Add(Row& all, const Row& row) {
  all.runs += row.runs;
  all.healthy += row.healthy;
  all.not_suspected += row.not_suspected;
  all.named += row.named;
  all.right += row.right;
  all.excluded += row.excluded;
  all.readings.insert(all.readings.end(), row.readings.begin(), row.readings.end());
}

void Print(const std::string& name, const Row& row) {
  fmt::print("| {:34} | {:5} | {:7} | {:6} | {:5} | {:5} | {:8} | {:6} | {:3} |\n", name, row.runs,
             row.healthy, row.not_suspected, row.named, row.right, row.excluded,
             Quantile(row.readings, 0.5), Quantile(row.readings, 0.9));
}

class AllFaults {
 public:
  explicit AllFaults(const std::string& bench)
      : walked_(bench),
        predictor_(walked_.bench(), walked_.situations()),
        ranker_(walked_.bench(), predictor_) {}

  void Run(int one_in, std::uint64_t first_seed, std::map<std::string, Row>& table) {
    std::uint64_t seed = 100000 * first_seed;
    std::map<std::string, int> seen;
    const char* only = std::getenv("ONLY");
    for (const Hypothesis& listed : SingleFaults(walked_.bench())) {
      const Hypothesis truth = OffTheGrid(listed, seed);
      ++seed;
      if ((seen[truth.kind]++ + static_cast<int>(first_seed)) % one_in != 0) continue;
      const std::string words = Describe(walked_.bench(), truth);
      if (only != nullptr && words.find(only) == std::string::npos) continue;
      One(truth, seed, table[truth.kind]);
    }
  }

 private:
  void One(const Hypothesis& truth, std::uint64_t seed, Row& row) {
    const Observation observed = walked_.Observe(truth.faults, seed);
    const Diagnosis diagnosis = ranker_.Rank(observed);
    ++row.runs;
    if (diagnosis.healthy) {
      ++row.healthy;
      return;
    }
    const Dialogue d = Converse(walked_.bench(), predictor_, diagnosis, observed, truth, seed);
    row.not_suspected += !d.suspected;
    row.named += d.named;
    row.right += d.right;
    row.excluded += d.excluded;
    row.readings.push_back(d.readings);
    if ((!d.right || d.excluded) && std::getenv("TELL") != nullptr) Tell(truth, d);
  }

  void Tell(const Hypothesis& truth, const Dialogue& d) const {
    fmt::print("{}{}{}: {}\n", d.right ? "right" : d.named ? "wrong" : "not named",
               d.excluded ? ", excluded" : "", d.suspected ? "" : ", not suspected",
               Describe(walked_.bench(), truth));
    for (const std::string& line : d.said) fmt::print("    {}\n", line);
    for (const std::string& line : d.left) fmt::print("    left: {}\n", line);
    if (!d.excluded) return;
    for (const std::string& line : d.against) fmt::print("    against: {}\n", line);
  }

  Walked walked_;
  Predictor predictor_;
  Ranker ranker_;
};

int Main(int one_in, const std::vector<std::string>& benches) {
  const auto begin = std::chrono::steady_clock::now();
  std::map<std::string, Row> table;
  const char* seed = std::getenv("SEED");
  const std::uint64_t first_seed = seed == nullptr ? 0 : std::strtoull(seed, nullptr, 10);
  for (const std::string& bench : benches) AllFaults(bench).Run(one_in, first_seed, table);
  fmt::print("| {:34} | {:>5} | healthy | not s. | named | right | excluded | median | 9/10 |\n",
             "single fault", "runs");
  fmt::print("| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |\n");
  Row all;
  for (const auto& [kind, row] : table) {
    Print(kind, row);
    Add(all, row);
  }
  Print("all", all);
  const double s = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  fmt::print("{:.1f} s\n", s);
  return Quantile(all.readings, 0.5) <= 2 && all.excluded == 0 ? 0 : 1;
}

}  // namespace
}  // namespace drycrank::diagnose

int main(int argc, char** argv) {
  const int one_in = argc > 1 ? std::max(1, std::atoi(argv[1])) : 1;
  std::vector<std::string> benches(argv + std::min(argc, 2), argv + argc);
  if (benches.empty()) benches = {"kart", "hill_climb", "generator", "boat_v8"};
  return drycrank::diagnose::Main(one_in, benches);
}
