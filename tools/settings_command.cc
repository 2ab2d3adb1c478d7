// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include "profile/load.h"
#include "proofread/settings.h"
#include "tools/commands.h"

namespace drycrank::tools {
namespace {

int PrintSettings(const std::string& file, bool json) {
  const profile::LoadedBench loaded = profile::LoadBench(file);
  if (!loaded.bench) {
    PrintProblems(loaded.problems);
    return kBadInput;
  }
  const profile::Bench& bench = *loaded.bench;
  if (!bench.controller) {
    PrintProblems({{{file},
                    "the bench has no controller, so it is not known where its sensors end",
                    "write its pins and their circuits under 'controller'"}});
    return kBadInput;
  }
  const proofread::Settings settings = proofread::SettingsOf(bench);
  fmt::print("{}", json ? proofread::SettingsJson(bench, settings)
                        : proofread::SettingsText(bench, settings));
  return kAllMet;
}

}  // namespace

void AddSettings(CLI::App& app, int& exit_code) {
  auto file = std::make_shared<std::string>();
  auto json = std::make_shared<bool>(false);
  CLI::App* command = app.add_subcommand(
      "settings", "Print what to set in controller and display, from what is built");
  command->add_option("bench", *file, "Bench")->required()->type_name("BENCH");
  command->add_flag("--json", *json, "As JSON");
  command->footer(
      "Engine, trigger wheels, sensor tables as wired, pulses, messages, and what the display\n"
      "must show (readouts, switching). What the bench says under controller and display of\n"
      "tables, wheels and layouts plays no part; drycrank proofread compares it with this.\n\n"
      "Example:\n  drycrank settings profiles/benches/hill_climb.yaml");
  command->callback([=, &exit_code] { exit_code = PrintSettings(*file, *json); });
}

}  // namespace drycrank::tools
