// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <memory>

#include "profile/load.h"
#include "scenario/walk.h"
#include "tools/commands.h"
#include "tools/stage.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string bench;
  std::vector<std::string> faults;
  std::uint64_t seed = 1;
  StageOptions stage;
};

// Faults put in on purpose, for practice: "{kind: open, at: CLT.1}".
bool AddFaults(const Options& options, const profile::Bench& bench, profile::Scenario& scenario) {
  for (const std::string& text : options.faults) {
    profile::ParsedFault parsed = profile::ParseFault(bench, text);
    if (PrintProblems(parsed.problems)) return false;
    scenario.faults.push_back(std::move(*parsed.fault));
  }
  return true;
}

int Walk(const Options& options) {
  const profile::LoadedBench loaded = profile::LoadBench(options.bench);
  if (PrintProblems(loaded.problems)) return kBadInput;
  if (!loaded.bench->controller) {
    fmt::print(stderr, "drycrank walk: {} has no controller to walk through\n", options.bench);
    return kBadInput;
  }
  scenario::Walk walk = scenario::MakeWalk(*loaded.bench);
  if (!AddFaults(options, *loaded.bench, walk.scenario)) return kBadInput;

  std::string hint = fmt::format("drycrank walk {}{} --seed {}", options.bench,
                                 Words(options.stage), options.seed);
  for (const std::string& fault : options.faults) hint += fmt::format(" --fault \"{}\"", fault);
  std::vector<std::string> notes;
  for (const scenario::NotProvable& circuit : walk.not_provable) {
    notes.push_back(fmt::format("not provable here: {}: {}", circuit.circuit, circuit.why));
  }
  const int exit_code = PlayOnStage(options.stage, {"drycrank walk", *loaded.bench, walk.scenario,
                                                    options.seed, hint, loaded.files, notes});
  if (exit_code == kExpectationFailed && !options.stage.out.empty()) {
    fmt::print("Which fault explains this: drycrank diagnose {}\n", options.stage.out);
  }
  return exit_code;
}

}  // namespace

void AddWalk(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand(
      "walk", "Drive every circuit of a bench in turn, and say which are proven");
  command->add_option("bench", options->bench, "Bench file (YAML)")->required()->type_name("BENCH");
  AddStageOptions(*command, options->stage);
  command->add_option("--fault", options->faults, "A fault put in on purpose, as in a scenario")
      ->type_name("YAML");
  command->add_option("--seed", options->seed, "Of the noise");
  command->footer(
      "Examples:\n"
      "  drycrank walk profiles/benches/hill_climb.yaml --out out/walk\n"
      "  drycrank walk profiles/benches/hill_climb.yaml --fault \"{kind: open, at: CLT.1}\" "
      "--out out/practice\n"
      "  drycrank diagnose out/practice");
  command->callback([options, &exit_code] { exit_code = Walk(*options); });
}

}  // namespace drycrank::tools
