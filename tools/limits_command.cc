// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <memory>

#include "profile/load.h"
#include "profile/protection.h"
#include "report/limits_tried.h"
#include "study/try_limits.h"
#include "tools/commands.h"
#include "tools/result_files.h"

namespace drycrank::tools {

void AddLimits(CLI::App& app, int& exit_code);

namespace {

constexpr int kUsualColumns = 100, kLeastColumns = 40;

struct Options {
  std::string bench;
  std::vector<std::string> faults;
  ReportFiles files;
  std::uint64_t seed = 1;
};

int Fail(const std::string& problem, int exit_code = kBadInput) {
  fmt::print(stderr, "drycrank limits: {}\n", problem);
  return exit_code;
}

bool AddFaults(const Options& options, const profile::Bench& bench,
               std::vector<profile::Fault>& faults) {
  for (const std::string& text : options.faults) {
    profile::ParsedFault parsed = profile::ParseFault(bench, text);
    if (PrintProblems(parsed.problems)) return false;
    faults.push_back(std::move(*parsed.fault));
  }
  return true;
}

// Empty, or what could not be written.
std::string WriteFiles(const report::Limits& limits, const ReportFiles& files) {
  std::string problem;
  const auto write = [&](const std::string& path, const auto& text) {
    if (problem.empty() && !path.empty()) problem = WriteFile(path, text(limits));
  };
  write(files.html, report::LimitsHtml);
  write(files.json, report::LimitsJson);
  write(files.junit, report::LimitsJunit);
  return problem;
}

int Limits(const Options& options) {
  const profile::LoadedBench loaded = profile::LoadBench(options.bench);
  if (PrintProblems(loaded.problems)) return kBadInput;
  const profile::Bench& bench = *loaded.bench;
  if (const std::string why = io::WhyNotThere(ResultsOf(options.files), loaded.files);
      !why.empty()) {
    return Fail(why);
  }
  if (bench.protections.empty()) {
    return Fail(options.bench +
                " has no protections to try: write what the controller must do, under "
                "'protections'; drycrank explain protection says how");
  }
  study::LimitOptions how;
  how.seed = options.seed;
  how.stop = StopAsked;
  if (!AddFaults(options, bench, how.faults)) return kBadInput;
  TakeAway(options.files);
  CatchStopSignals();
  const report::Limits limits = study::TryLimits(bench, how);
  const int columns = Columns() > 0 ? std::max(Columns(), kLeastColumns) : kUsualColumns;
  fmt::print("{}", report::LimitsText(limits, columns));
  if (const std::string problem = WriteFiles(limits, options.files); !problem.empty()) {
    return Fail(problem, kBenchFailed);
  }
  if (report::AnyFailed(limits)) return kExpectationFailed;
  return report::AnyNotShown(limits) ? kNotShown : kAllMet;
}

}  // namespace

void AddLimits(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand(
      "limits", "Cross each limit of a bench's protections, and say where and when each acts");
  command->add_option("bench", options->bench, "Bench file (YAML)")->required()->type_name("BENCH");
  command->add_option("--out,--html", options->files.html, "Write the report as one HTML page")
      ->check(HasName())
      ->type_name("FILE");
  command->add_option("--json", options->files.json, "Write the report as JSON")
      ->check(HasName())
      ->type_name("FILE");
  command->add_option("--junit", options->files.junit, "Write the verdicts as JUnit XML")
      ->check(HasName())
      ->type_name("FILE");
  command
      ->add_option("--fault", options->faults,
                   "A fault put in on purpose, for practice: \"{kind: told, at: oil_pressure_low, "
                   "acts: never}\"")
      ->type_name("YAML");
  command->add_option("--seed", options->seed, "Seed of the noise")->check(IsSeed());
  command->footer(
      "Nothing is driven: a stand-in for the controller, virtual time. Exit code 0: each acts as "
      "it must.\n"
      "1: one does not. 4: something could not be shown. How to read the table, and how to try a "
      "real\n"
      "controller: hw-notes/limits.md.\n\n"
      "Examples:\n"
      "  drycrank limits profiles/benches/hill_climb.yaml\n"
      "  drycrank limits profiles/benches/hill_climb.yaml --out out/limits.html \\\n"
      "      --fault \"{kind: told, at: oil_pressure_low, limit: 120 kPa}\"");
  command->callback([options, &exit_code] { exit_code = Limits(*options); });
}

}  // namespace drycrank::tools
