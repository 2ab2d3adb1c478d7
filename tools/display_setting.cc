// SPDX-License-Identifier: Apache-2.0
#include "tools/display_setting.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cstdlib>
#include <memory>
#include <string>
#include <utility>
#include <vector>

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

std::string OrNone(const std::string& text) { return text.empty() ? "none" : text; }

// What is to be typed, a line for each setting: the display may have one of several numbers in it.
std::vector<std::string> Advice(const std::vector<sweep::Edit>& edits, bool display_is_wrong) {
  std::vector<std::pair<std::string, std::string>> said;  // what stands there, what to type
  for (const sweep::Edit& edit : edits) {
    // The nicest number stands first, and is enough.
    const bool is_number = edit.becomes.find('.') != std::string::npos;
    if (!display_is_wrong) {
      const std::string there = fmt::format("{}: the bench's display section has {}", edit.setting,
                                            OrNone(edit.is));
      const bool is_said = std::ranges::any_of(
          said, [&](const auto& before) { return before.first == there; });
      if (is_said && is_number) continue;
      said.emplace_back(there, fmt::format("; {} is right", OrNone(edit.becomes)));
      continue;
    }
    const std::string type = fmt::format("; type {} instead", OrNone(edit.is));
    const auto same = std::ranges::find_if(said, [&](const auto& before) {
      return before.first.starts_with(edit.setting + ":") && before.second == type;
    });
    if (same != said.end() && !is_number) same->first += " or " + edit.becomes;
    if (same == said.end()) {
      said.emplace_back(fmt::format("{}: the display has {}", edit.setting, OrNone(edit.becomes)),
                        type);
    }
  }
  std::vector<std::string> lines;
  for (const auto& [there, type] : said) lines.push_back(there + type);
  return lines;
}

void PrintExplained(const sweep::Explained& explained, bool display_is_wrong) {
  if (explained.differing.empty()) return;
  fmt::print("Shown otherwise: {}\n", fmt::join(explained.differing, ", "));
  if (explained.by.empty()) {
    fmt::print("{}\n", explained.tried > 0
                           ? fmt::format("No single setting of {} tried explains all of it.",
                                         explained.tried)
                           : "No single setting changes all of them: more than one is wrong.");
    return;
  }
  const std::vector<std::string> lines = Advice(explained.by, display_is_wrong);
  const char* again = lines.size() > 1 ? "either " : "";
  for (const std::string& line : lines) {
    fmt::print("{}{}\n", again, line);
    again = "or ";
  }
  if (lines.size() < 2) return;
  fmt::print("What is shown is the same with {}.\n",
             lines.size() == 2 ? "either: look at both" : "each of them: look at all");
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
      "is named; where several explain it, what is shown cannot tell them apart. Exit codes: 0 all\n"
      "is as set and as required, 1 it is not, 2 it is of another bench, 4 something was not\n"
      "shown.\n\n"
      "Example:\n  drycrank display setting profiles/benches/hill_climb.yaml out/display");
  command->callback([o, &exit_code] { exit_code = Which(*o); });
}

}  // namespace drycrank::tools
