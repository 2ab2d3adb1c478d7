// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <memory>
#include <optional>

#include "profile/load.h"
#include "proofread/recording_problems.h"
#include "record/played_files.h"
#include "tools/commands.h"
#include "tools/result_files.h"
#include "tools/stage.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string scenario;
  std::optional<std::uint64_t> seed;
  StageOptions stage;
};

int Run(const Options& options) {
  const profile::LoadedScenario loaded = profile::LoadScenario(options.scenario);
  if (PrintProblems(loaded.problems)) return kBadInput;
  if (PrintProblems(proofread::RecordingProblems(*loaded.bench, *loaded.scenario)))
    return kBadInput;
  const std::string misplaced =
      WhyNotPlaced(options.stage, InputsOf(loaded.files, *loaded.scenario));
  if (!misplaced.empty()) {
    fmt::print(stderr, "drycrank run: {}\n", misplaced);
    return kBadInput;
  }
  const std::uint64_t seed = options.seed.value_or(loaded.scenario->seed);
  const std::string hint = fmt::format("drycrank run {}{} --seed {}", options.scenario,
                                       OptionsInWords(options.stage), seed);
  return PlayOnStage(options.stage,
                     {"drycrank run", *loaded.bench, *loaded.scenario, seed, hint, loaded.files,
                      record::InWords(record::PlayedFilesOf(*loaded.scenario))});
}

}  // namespace

void AddRun(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand("run", "Play a scenario, judge it, keep a record");
  command->add_option("scenario", options->scenario, "Scenario file (YAML)")
      ->required()
      ->type_name("SCENARIO");
  AddStageOptions(*command, options->stage);
  AddOutputOptions(*command, options->stage);
  command->add_option("--seed", options->seed, "Instead of the scenario's own seed")
      ->check(IsSeed());
  command->footer(
      "Examples:\n"
      "  drycrank run profiles/scenarios/hill_climb/healthy.yaml\n"
      "  drycrank run profiles/scenarios/hill_climb/cam_leads_swapped.yaml --out out/cam\n"
      "  drycrank run SCENARIO --real-time --bus vehicle=multicast\n"
      "  drycrank run SCENARIO --real-time --bus vehicle=socketcan:can0 --real controller \\\n"
      "      --arm can0 --by NAME\n"
      "  drycrank run SCENARIO --real-time --outputs --arm edges --by NAME");
  command->callback([options, &exit_code] { exit_code = Run(*options); });
}

}  // namespace drycrank::tools
