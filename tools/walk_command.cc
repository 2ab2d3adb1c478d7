// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <memory>

#include "io/real_clock.h"
#include "profile/load.h"
#include "run/play.h"
#include "scenario/walk.h"
#include "tools/commands.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string bench;
  std::string out;
  bool overwrite = false;
  bool real_time = false;
  bool arm = false;
  std::vector<std::string> buses;
  std::vector<std::string> real;
  std::vector<std::string> faults;
  std::uint64_t seed = 1;
  ReportFiles files;
};

int Fail(const std::string& problem, bool bad_input) {
  fmt::print(stderr, "drycrank walk: {}\n", problem);
  return bad_input ? kBadInput : kBenchFailed;
}

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
  const profile::Bench& bench = *loaded.bench;
  if (!bench.controller) return Fail(options.bench + " has no controller to walk through", true);
  scenario::Walk walk = scenario::MakeWalk(bench);
  if (!AddFaults(options, bench, walk.scenario)) return kBadInput;

  VirtualClock virtual_clock;
  std::unique_ptr<io::RealClock> real_clock;
  if (options.real_time) real_clock = std::make_unique<io::RealClock>();
  Clock& clock = real_clock ? static_cast<Clock&>(*real_clock) : virtual_clock;
  OpenInterfaces interfaces = Open(bench, options.buses, clock);
  if (!interfaces.problem.empty()) return Fail(interfaces.problem, interfaces.bad_input);
  if (!interfaces.owned.empty() && !options.real_time) {
    return Fail("an interface to the outside needs --real-time", true);
  }
  if (!Arm(interfaces, options.arm)) return kBadInput;

  run::PlayOptions play;
  play.run.seed = options.seed;
  play.run.interfaces = interfaces.by_bus;
  for (const std::string& real : options.real) {
    if (real == "controller") play.run.controller = false;
    if (real == "display") play.run.display = false;
  }
  play.mode = options.real_time ? "walk in real time" : "walk in virtual time";
  play.hint_command = fmt::format("drycrank walk {} --seed {}", options.bench, options.seed);
  play.files = loaded.files;
  play.record_folder = options.out;
  play.overwrite = options.overwrite;
  play.clock = &clock;
  play.keep_on = [](TimeNs) { return !StopAsked(); };
  CatchStopSignals();
  if (real_clock) real_clock->Start();
  const run::PlayResult result = run::Play(bench, walk.scenario, play);
  if (!result.problem.empty() && result.report.bench == nullptr) return Fail(result.problem, true);

  report::Report report = result.report;
  for (const scenario::NotProvable& circuit : walk.not_provable) {
    report.notes.push_back(fmt::format("not provable here: {}: {}", circuit.circuit, circuit.why));
  }
  ReportFiles files = options.files;
  if (!options.out.empty() && files.html.empty()) files.html = options.out + "/report.html";
  if (!options.out.empty() && files.json.empty()) files.json = options.out + "/report.json";
  std::string problem = Publish(report, files);
  if (problem.empty()) problem = result.problem;
  if (!problem.empty()) return Fail(problem, false);
  const bool all_met = report::AllMet(report);
  for (const scenario::NotProvable& circuit : walk.not_provable) {
    fmt::print("not provable here: {}: {}\n", circuit.circuit, circuit.why);
  }
  if (!options.out.empty() && !all_met) {
    fmt::print("Which fault explains this: drycrank diagnose {}\n", options.out);
  }
  if (result.stopped) return Fail("stopped before the end of the walk", false);
  return ExitCodeOf(result.report);
}

}  // namespace

void AddWalk(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand(
      "walk", "Drive every circuit of a bench in turn, and say which are proven");
  command->add_option("bench", options->bench, "Bench file (YAML)")->required()->type_name("BENCH");
  command->add_option("--out", options->out, "Folder for the record and the report")
      ->type_name("DIR");
  command->add_flag("--overwrite", options->overwrite, "Replace a record that is there already");
  command->add_flag("--real-time", options->real_time, "Release everything at its due instant");
  command->add_option("--bus", options->buses, "Where a bus of the bench goes, as for drycrank run")
      ->type_name("NAME=INTERFACE");
  command->add_option("--real", options->real, "This one is connected for real")
      ->check(CLI::IsMember({"controller", "display"}));
  command->add_option("--fault", options->faults, "A fault put in on purpose, as in a scenario")
      ->type_name("YAML");
  command->add_option("--seed", options->seed, "Of the noise");
  command->add_flag("--arm", options->arm,
                    "Allow sending on an interface that real hardware may listen to");
  AddReportOptions(*command, options->files);
  command->footer(
      "Examples:\n"
      "  drycrank walk profiles/benches/hill_climb.yaml --out out/walk\n"
      "  drycrank walk profiles/benches/hill_climb.yaml --fault \"{kind: open, at: CLT.1}\" "
      "--out out/practice\n"
      "  drycrank diagnose out/practice");
  command->callback([options, &exit_code] { exit_code = Walk(*options); });
}

}  // namespace drycrank::tools
