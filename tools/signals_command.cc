// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include "profile/load.h"
#include "record/render.h"
#include "tools/commands.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string scenario;
  std::string out;
  record::RenderOptions render;
};

int WriteSignals(const Options& options) {
  const profile::LoadedScenario loaded = profile::LoadScenario(options.scenario);
  if (PrintProblems(loaded.problems)) return kBadInput;
  const record::RenderResult result =
      record::Render(*loaded.bench, *loaded.scenario, options.render, options.out);
  if (!result.problem.empty()) {
    fmt::print(stderr, "drycrank signals: {}\n", result.problem);
    return kBenchFailed;
  }
  fmt::print(
      "{0}/edges.vcd: {1} level changes\n{0}/waveforms.wav: {2} samples per channel, 1.0 is {4:g} "
      "V\n"
      "{0}/signals.csv: {3} rows\n",
      options.out, result.edges, result.samples, result.rows, result.full_scale_v);
  if (result.clipped > 0) {
    fmt::print(
        "{} samples were louder than {} V and clipped; leave --full-scale out, or give a larger "
        "one\n",
        result.clipped, options.render.full_scale_v);
  }
  return kAllMet;
}

}  // namespace

void AddSignals(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command =
      app.add_subcommand("signals", "Write a scenario's signals as VCD, WAV and CSV files");
  command->add_option("scenario", options->scenario, "Scenario file (YAML)")
      ->required()
      ->type_name("SCENARIO");
  command->add_option("--out", options->out, "Folder for the files")->required()->type_name("DIR");
  command->add_option("--seed", options->render.seed, "Seed of the noise");
  command->add_option("--sample-rate", options->render.sample_rate_hz, "Of waveforms.wav, Hz")
      ->check(CLI::Range(8'000, 192'000));
  command
      ->add_option("--full-scale", options->render.full_scale_v,
                   "Volts written as 1.0; without it the least of 1, 2, 5, 10, 20, 50, ... that "
                   "nothing is louder than")
      ->check(CLI::Range(0.1, 1000.0));
  command->footer(
      "Example:\n  drycrank signals profiles/scenarios/hill_climb/healthy.yaml --out out/signals");
  command->callback([options, &exit_code] { exit_code = WriteSignals(*options); });
}

}  // namespace drycrank::tools
