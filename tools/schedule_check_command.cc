// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <filesystem>
#include <memory>

#include "profile/load.h"
#include "schedule/check.h"
#include "tools/result_files.h"
#include "tools/schedule_command.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string file, bench, scenario, json;
  std::vector<std::string> columns;
  schedule::Limits limits;
  bool strict = false;
};

// A schedule, and the bench and scenario that it is checked against.
struct Subject {
  schedule::Schedule schedule;
  std::optional<profile::Bench> bench;
  std::optional<profile::Scenario> scenario;
  Diagnostics unreadable;
};

bool ReadBench(const std::string& file, Subject& subject) {
  profile::LoadedBench loaded = profile::LoadBenchAsDrawn(file);
  if (PrintProblems(loaded.problems)) return false;
  subject.bench = std::move(loaded.bench);
  return true;
}

bool ReadScenario(const std::string& file, Subject& subject) {
  profile::LoadedScenario loaded = profile::LoadScenario(file);
  if (PrintProblems(loaded.problems)) return false;
  subject.scenario = std::move(loaded.scenario);
  if (!subject.bench) subject.bench = std::move(loaded.bench);
  return true;
}

std::optional<Subject> Read(const Options& options) {
  Subject subject;
  const std::string bench = IsYaml(options.file) ? options.file : options.bench;
  if (!bench.empty() && !ReadBench(bench, subject)) return std::nullopt;
  if (!options.scenario.empty() && !ReadScenario(options.scenario, subject)) return std::nullopt;
  if (IsYaml(options.file)) {
    subject.schedule = schedule::ScheduleOf(*subject.bench);
    return subject;
  }
  auto imported = ReadScheduleCsv(options.file, options.columns);
  if (!imported) return std::nullopt;
  subject.schedule = std::move(imported->schedule);
  subject.unreadable = std::move(imported->problems);
  if (subject.bench) schedule::AddFusesOf(*subject.bench, subject.schedule);
  return subject;
}

int Check(const Options& options) {
  if (const std::string why = io::WhyNotThere({{"--json", options.json, kJsonMark}},
                                              {options.file, options.bench, options.scenario});
      !why.empty()) {
    fmt::print(stderr, "drycrank schedule check: {}\n", why);
    return kBadInput;
  }
  const auto subject = Read(options);
  if (!subject) return kBadInput;
  schedule::CheckInput input;
  input.schedule = &subject->schedule;
  input.bench = subject->bench ? &*subject->bench : nullptr;
  input.scenario = subject->scenario ? &*subject->scenario : nullptr;
  input.unreadable = subject->unreadable;
  input.limits = options.limits;
  const schedule::CheckResult result = schedule::CheckSchedule(input);
  fmt::print("{}", schedule::FindingsText(result));
  if (!subject->bench) {
    fmt::print(
        "Only the list was looked at. With --bench BENCH.yaml: also what its devices need.\n");
  }
  if (!options.json.empty()) {
    const std::string trouble =
        WriteFile(options.json, schedule::FindingsJson(options.file, result));
    if (!trouble.empty()) {
      fmt::print(stderr, "drycrank schedule check: {}\n", trouble);
      return kBenchFailed;
    }
  }
  for (const schedule::Finding& finding : result.findings) {
    if (finding.is_error() || options.strict) return kExpectationFailed;
  }
  return kAllMet;
}

void AddLimits(CLI::App& command, schedule::Limits& limits) {
  const auto add = [&](const char* name, double& value, const char* text, double low, double high) {
    command.add_option(name, value, text)->check(InRange(low, high))->capture_default_str();
  };
  add("--max-drop", limits.drop_percent,
      "Percent of the supply that wires may lose, there and back", 0.01, 100);
  add("--tolerance", limits.tolerance_percent,
      "Percent of its range that a shared ground may move a reading, where no sensor says better",
      0.001, 100);
  add("--twist-length", limits.twist_length_percent,
      "Percent by which the lengths of twisted wires may differ", 0, 100);
  add("--load-current", limits.load_a, "Amperes from which a load is noted on a sensors' ground",
      0.001, 1000);
}

}  // namespace

void AddScheduleCheck(CLI::App& schedule, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command = schedule.add_subcommand(
      "check", "Find what is wrong with the wiring on paper, before anything is crimped");
  command->add_option("file", options->file, "Wiring schedule, or a bench with its harness")
      ->required()
      ->type_name("FILE.csv|BENCH.yaml");
  command->add_option("--bench", options->bench, "With a CSV: the bench whose devices it wires")
      ->type_name("BENCH");
  command->add_option("--scenario", options->scenario, "Scenario that has to prove the circuits")
      ->type_name("SCENARIO");
  AddColumnOption(*command, options->columns);
  command->add_option("--json", options->json, "Write the findings as JSON")->type_name("FILE");
  AddLimits(*command, options->limits);
  command->add_flag("--strict", options->strict, "A note alone makes the exit code 1, too");
  command->footer(
      "An error: the harness will not work, or cannot be made. A note: it works, but deserves a "
      "look.\n"
      "hw-notes/making-a-schedule.md says what each finding means.\n\n"
      "Exit codes: 0 no error, 1 errors (with --strict: or notes), 2 a file cannot be read.\n\n"
      "Examples:\n"
      "  drycrank schedule check profiles/schedules/kart.csv --bench profiles/benches/kart.yaml\n"
      "  drycrank schedule check profiles/benches/hill_climb.yaml --json findings.json\n"
      "  drycrank schedule check profiles/benches/kart.yaml --scenario "
      "profiles/scenarios/kart/healthy.yaml");
  command->callback([options, &exit_code] { exit_code = Check(*options); });
}

}  // namespace drycrank::tools
