// SPDX-License-Identifier: Apache-2.0
#include "tools/display_setting.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cstdlib>
#include <memory>

#include "profile/load.h"
#include "sweep/standin_screen.h"
#include "sweep/sweep.h"
#include "sweep/two_witnesses.h"
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
  const auto word = [](const std::string& value) { return value.empty() ? "none" : value; };
  const char* again = "";
  for (const sweep::Edit& edit : explained.by) {
    if (display_is_wrong) {
      fmt::print("{}{}: the display has {}; type {} instead\n", again, edit.setting,
                 word(edit.becomes), word(edit.is));
    } else {
      fmt::print("{}{}: the bench's display section has {}; {} is right\n", again, edit.setting,
                 word(edit.is), word(edit.becomes));
    }
    again = "or ";
  }
}

// Empty: each readout was looked at to its end. Else a line for what was not.
std::string NotShown(const profile::Bench& bench, const sweep::WhatItShowed& showed) {
  std::string lines;
  std::vector<std::string> missing;
  for (const profile::Readout& r : RequiredReadouts(bench)) {
    const auto ended = std::ranges::find(showed.by.ended, r.name, &sweep::Ended::readout);
    if (ended != showed.by.ended.end()) {
      lines += fmt::format("not shown: {}: {}\n", r.name, ended->why);
    } else if (std::ranges::find(showed.facts, r.name, &sweep::ShownFact::readout) ==
               showed.facts.end()) {
      missing.push_back(r.name);
    }
  }
  if (missing.empty()) return lines;
  return fmt::format("{}not shown: nothing of {}\n", lines, fmt::join(missing, ", "));
}

// Empty, or why no setting can be looked for in it.
std::string WhyNot(const Options& options, const profile::Bench& bench,
                   const sweep::WhatItShowed& showed) {
  const sweep::ShownBy& by = showed.by;
  if (!by.bench.empty() && by.bench != bench.name) {
    return fmt::format("{} is of bench {}, and {} is bench {}; name the bench that was swept",
                       options.shown, by.bench, options.bench, bench.name);
  }
  if (!sweep::IsAsked(showed)) return {};
  return fmt::format(
      "{} six points, and those do not tell settings apart; sweep the stand-in, or a display "
      "with an echo",
      by.witness == sweep::kByPictures ? "pictures tell" : "a person has read");
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
  if (const std::string why = WhyNot(options, *loaded.bench, *showed); !why.empty()) {
    fmt::print(stderr, "drycrank display setting: {}\n", why);
    return kBadInput;
  }
  const std::string not_shown = NotShown(*loaded.bench, *showed);
  if (showed->facts.empty()) {
    fmt::print("Nothing was shown.\n{}", not_shown);
    return kNotShown;
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
  if (!explained.differing.empty()) return kExpectationFailed;
  if (not_shown.empty()) {
    fmt::print("And it is what must be shown.\n");
    return kAllMet;
  }
  fmt::print("And it is what must be shown, as far as it was seen.\n{}", not_shown);
  return kNotShown;
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
      "is named, the likelier first. Exit codes: 0 all is as set and as required, 1 it is not, 2 it\n"
      "is of another bench, 4 not all of it was shown.\n\n"
      "Example:\n  drycrank display setting profiles/benches/hill_climb.yaml out/display");
  command->callback([o, &exit_code] { exit_code = Which(*o); });
}

}  // namespace drycrank::tools
