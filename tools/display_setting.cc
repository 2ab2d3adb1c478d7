// SPDX-License-Identifier: Apache-2.0
#include "tools/display_setting.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <cstdlib>
#include <memory>

#include "profile/load.h"
#include "sweep/standin_screen.h"
#include "sweep/sweep.h"
#include "sweep/which_setting.h"
#include "tools/commands.h"
#include "tools/shown_files.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string bench, shown;
};

void PrintExplained(const sweep::Explained& explained, bool display_is_wrong) {
  if (explained.differing.empty()) return;
  fmt::print("Shown otherwise: {}\n", fmt::join(explained.differing, ", "));
  if (explained.by.empty()) {
    fmt::print("No single setting of {} tried explains all of it.\n", explained.tried);
    return;
  }
  const char* again = "";
  for (const sweep::Edit& edit : explained.by) {
    if (display_is_wrong) {
      fmt::print("{}{}: the display has {}; type {} instead\n", again, edit.setting, edit.becomes,
                 edit.is);
    } else {
      fmt::print("{}{}: the bench's display section has {}; {} is right\n", again, edit.setting,
                 edit.is, edit.becomes);
    }
    again = "or ";
  }
}

int Which(const Options& options) {
  profile::LoadedBench loaded = profile::LoadBench(options.bench);
  if (PrintProblems(loaded.problems) || !loaded.bench) return kBadInput;
  if (!loaded.bench->display) {
    fmt::print(stderr, "drycrank display setting: {} does not say what was set in the display\n",
               options.bench);
    return kBadInput;
  }
  const auto showed = ReadShownOf(options.shown);
  if (!showed) return kBadInput;
  if (showed->by.witness.starts_with(sweep::kByPerson)) {
    fmt::print(
        stderr,
        "drycrank display setting: a person has read six points, and those do not tell settings "
        "apart; sweep the stand-in, or a display with an echo\n");
    return kBadInput;
  }
  sweep::Explained explained = sweep::WhichSetting(*loaded.bench, *showed);
  if (!explained.differing.empty()) {
    PrintExplained(explained, true);
    return kExpectationFailed;
  }
  // It shows what was set: is that what must be shown?
  fmt::print("All that was shown is what the bench's display section says.\n");
  std::uint64_t seed = 1;
  if (!showed->by.seed.empty()) seed = std::strtoull(showed->by.seed.c_str(), nullptr, 10);
  sweep::WhatItShowed required =
      sweep::SweepStandin(sweep::AsRequired(*loaded.bench), seed,
                          showed->by.witness == sweep::kByEcho, true, showed->by.smoothed);
  explained = sweep::WhichSetting(*loaded.bench, required);
  PrintExplained(explained, false);
  if (explained.differing.empty()) fmt::print("And it is what must be shown.\n");
  return explained.differing.empty() ? kAllMet : kExpectationFailed;
}

}  // namespace

void AddDisplaySetting(CLI::App& display, int& exit_code) {
  auto o = std::make_shared<Options>();
  CLI::App* command = display.add_subcommand(
      "setting", "Which setting explains what it showed, and what to type instead");
  command->add_option("bench", o->bench, "Bench, with what was set in the display")
      ->required()
      ->type_name("BENCH");
  command->add_option("shown", o->shown, "What it showed: shown.csv or its folder")
      ->required()
      ->type_name("SHOWN");
  command->footer(
      "Every single edit of what was set is tried on the same inputs; what explains all readings\n"
      "is named, the likelier first. Exit codes: 0 all is as set and as required, 1 it is not.\n\n"
      "Example:\n  drycrank display setting profiles/benches/hill_climb.yaml out/display");
  command->callback([o, &exit_code] { exit_code = Which(*o); });
}

}  // namespace drycrank::tools
