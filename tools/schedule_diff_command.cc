// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <memory>
#include <optional>

#include "profile/load.h"
#include "schedule/schedule_diff.h"
#include "tools/result_files.h"
#include "tools/schedule_command.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string before, after, json;
  std::vector<std::string> columns;
};

struct Side {
  schedule::Schedule schedule;
  std::optional<profile::Bench> bench;
};

std::optional<Side> Read(const std::string& file, const Options& options) {
  Side side;
  if (IsYaml(file)) {
    profile::LoadedBench loaded = profile::LoadBenchAsDrawn(file);
    if (PrintProblems(loaded.problems)) return std::nullopt;
    side.bench = std::move(loaded.bench);
    side.schedule = schedule::ScheduleOf(*side.bench);
    return side;
  }
  auto imported = ReadScheduleCsv(file, options.columns);
  if (!imported) return std::nullopt;
  // A line that was not read would look like one that was taken away.
  if (PrintProblems(imported->problems)) return std::nullopt;
  side.schedule = std::move(imported->schedule);
  return side;
}

int Diff(const Options& options) {
  if (const std::string why =
          io::WhyNotThere({{"--json", options.json, kJsonMark}}, {options.before, options.after});
      !why.empty()) {
    fmt::print(stderr, "drycrank schedule diff: {}\n", why);
    return kBadInput;
  }
  const auto before = Read(options.before, options);
  const auto after = before ? Read(options.after, options) : std::nullopt;
  if (!after) return kBadInput;
  const schedule::ScheduleDiff diff = schedule::DiffSchedules(
      before->schedule, after->schedule, after->bench ? &*after->bench : nullptr);
  fmt::print("{}", schedule::DiffText(diff));
  if (!diff.lines.empty() && !after->bench) {
    fmt::print("Who carries the new current is not known from a list: give benches for that.\n");
  }
  if (!options.json.empty()) {
    const std::string trouble = WriteFile(options.json, schedule::DiffJson(diff));
    if (!trouble.empty()) {
      fmt::print(stderr, "drycrank schedule diff: {}\n", trouble);
      return kBenchFailed;
    }
  }
  return diff.lines.empty() ? kAllMet : kExpectationFailed;
}

}  // namespace

void AddScheduleDiff(CLI::App& schedule, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command = schedule.add_subcommand(
      "diff", "Compare two states of a schedule: what changed, what must be proven again");
  command->add_option("before", options->before, "Bench file (YAML), or a sheet (CSV)")
      ->required()
      ->type_name("OLD");
  command->add_option("after", options->after, "The same, as it is now")
      ->required()
      ->type_name("NEW");
  AddColumnOption(*command, options->columns);
  command->add_option("--json", options->json, "Write the result as JSON too")
      ->check(HasName())
      ->type_name("FILE");
  command->footer(
      "Exit codes: 0 nothing changed, 1 something did, 2 not readable.\n\n"
      "Example:\n"
      "  drycrank schedule diff old.csv profiles/schedules/kart.csv");
  command->callback([options, &exit_code] { exit_code = Diff(*options); });
}

}  // namespace drycrank::tools
