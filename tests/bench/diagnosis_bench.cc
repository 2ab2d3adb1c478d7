// SPDX-License-Identifier: Apache-2.0
//
// Diagnoses of worlds that the diagnosis does not know, and how far what it says can be believed.
//
//   diagnosis_bench [--worlds N] [--seed S] [--ngspice K] [--tell] [--all]    drawn benches
//                   [--parts]    with fuses, relays, diodes and plugs between two pieces of harness
//   diagnosis_bench --pins                                    shipped benches: see below
//   diagnosis_bench --leads
//
// Drawn benches (tests/diagnose/outside_world.h), 2,000 of them if not said otherwise, from seed 1 on:
// a table for each kind of truth, and of what was called so sure, how many were right. Every K-th
// world is ngspice's. --tell: a line for each that was wrong, with its seed; --all: for each.
//
// --pins: 1 to 25 ohm in the controller's supply and ground contact, thirteen sizes, on each of the
// four shipped benches: 104 runs. --leads: the crank's two leads swapped, 20 seeds, hill_climb and
// boat_v8. Both play the real runner with the stand-ins, supply, wires, contacts and sensors within
// their tolerances.
#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <string_view>
#include <vector>

#include "tests/diagnose/outside_runs.h"
#include "tests/diagnose/shipped_world.h"

namespace drycrank::diagnose {
namespace {

enum class Tell { kNothing, kWrong, kAll };

void TellOf(const OutsideRun& run, Tell tell) {
  if (tell == Tell::kNothing || (tell == Tell::kWrong && run.answered.right)) return;
  fmt::print("{} seed {}: {} | said {} ({:.4f}){}\n",
             run.answered.right        ? "right"
             : run.is_wrong_and_sure() ? "SURE "
                                       : "wrong",
             run.seed, run.truth, run.answered.words, run.answered.share,
             run.answered.place && !run.answered.right ? ", right place" : "");
}

void PrintTables(const std::vector<OutsideRun>& runs) {
  fmt::print("{}\n{}", TruthTable(runs), ReliabilityTable(runs));
  std::vector<double> took;
  for (const OutsideRun& run : runs) took.push_back(run.processor_s);
  std::ranges::sort(took);
  fmt::print(
      "\nprocessor time of a diagnosis: median {:.3f} s, 95 of 100 within {:.3f} s, most {:.2f} "
      "s\n",
      took[took.size() / 2], took[took.size() * 95 / 100], took.back());
}

void DrawnBenches(std::uint64_t first, std::uint64_t worlds, std::uint64_t every, With with,
                  Tell tell) {
  std::vector<OutsideRun> runs;
  for (std::uint64_t seed = first; seed < first + worlds; ++seed) {
    const bool by_ngspice = every > 0 && seed % every == 0;
    runs.push_back(
        RunOutside(seed, by_ngspice ? support::SolvedBy::kNgspice : support::SolvedBy::kGauss, with));
    TellOf(runs.back(), tell);
  }
  PrintTables(runs);
}

void CorrodedPins(Tell tell) {
  constexpr double kOhm[] = {1, 1.5, 2, 3, 4, 5, 6.5, 8, 10, 12.5, 16, 20, 25};
  std::vector<OutsideRun> runs;
  std::uint64_t seed = 0;
  for (const char* name : {"hill_climb", "boat_v8", "kart", "generator"}) {
    ShippedWorld world(name);
    for (const std::string& pin :
         {world.bench().controller->supply, world.bench().controller->ground}) {
      for (const double ohm : kOhm) {
        runs.push_back(world.RunSeries(pin, ohm, ++seed));
        runs.back().kind = name;
        TellOf(runs.back(), tell);
      }
    }
  }
  PrintTables(runs);
}

void CrankLeads(Tell tell) {
  for (const char* name : {"hill_climb", "boat_v8"}) {
    ShippedWorld world(name);
    int first = 0;
    for (std::uint64_t seed = 1; seed <= 20; ++seed) {
      const OutsideRun run = world.RunCrankLeads(seed);
      first += run.answered.right;
      TellOf(run, tell);
    }
    fmt::print(
        "{}: crank leads swapped, mended at that plug by each member of the first group: {} of "
        "20\n",
        name, first);
  }
}

int Main(int argc, char** argv) {
  std::uint64_t worlds = 2000, seed = 1, every = 0;
  Tell tell = Tell::kNothing;
  bool pins = false, leads = false;
  With with = With::kWires;
  for (int i = 1; i < argc; ++i) {
    const std::string_view word = argv[i];
    const auto number = [&] { return i + 1 < argc ? std::strtoull(argv[++i], nullptr, 10) : 0; };
    if (word == "--worlds") {
      worlds = number();
    } else if (word == "--seed") {
      seed = number();
    } else if (word == "--ngspice") {
      every = number();
    } else if (word == "--tell" || word == "--all") {
      tell = word == "--all" ? Tell::kAll : Tell::kWrong;
    } else if (word == "--parts") {
      with = With::kParts;
    } else if (word == "--pins") {
      pins = true;
    } else if (word == "--leads") {
      leads = true;
    } else {
      fmt::print(stderr, "{}: see the head of diagnosis_bench.cc\n", word);
      return 2;
    }
  }
  if (pins) CorrodedPins(tell);
  if (leads) CrankLeads(tell);
  if (!pins && !leads && worlds > 0) DrawnBenches(seed, worlds, every, with, tell);
  return 0;
}

}  // namespace
}  // namespace drycrank::diagnose

int main(int argc, char** argv) { return drycrank::diagnose::Main(argc, argv); }
