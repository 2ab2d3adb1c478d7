// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <filesystem>
#include <set>
#include <string>

#include "profile/load.h"
#include "record/profile_changes.h"
#include "record/record.h"
#include "study/circuits_shown.h"
#include "study/live_scenario.h"
#include "study/play.h"
#include "study/run_facts.h"
#include "tools/commands.h"
#include "tools/judge_recording.h"
#include "tools/mode_words.h"
#include "tools/result_files.h"
#include "walk/reach.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string scenario;
  std::string record;
  std::vector<std::string> buses;  // of a recording: "vehicle=can0"
  ReportFiles files;
};

// A record's mode names the stand-ins that played: "real time; stand-ins: display only".
// The end of a bench run live is somebody's word; what comes from trouble is cut short.
bool WasCut(const std::string& why_ended) {
  return why_ended.starts_with("error") || why_ended.starts_with("watchdog");
}

int Judge(const Options& options) {
  const profile::LoadedScenario loaded = profile::LoadScenario(options.scenario);
  if (PrintProblems(loaded.problems)) return kBadInput;
  std::vector<std::string> inputs = InputsOf(loaded.files, *loaded.scenario);
  inputs.push_back(options.record);
  if (const std::string why = io::WhyNotThere(ResultsOf(options.files), inputs, options.record);
      !why.empty()) {
    fmt::print(stderr, "drycrank judge: {}\n", why);
    return kBadInput;
  }
  if (std::filesystem::is_regular_file(options.record)) {
    return JudgeRecording({*loaded.bench, *loaded.scenario, options.record, options.buses},
                          options.files);
  }
  const auto live = study::ReadLiveScenario(options.record, *loaded.bench, *loaded.scenario);
  const profile::Scenario& scenario = live ? live->scenario : *loaded.scenario;
  if (live && !live->problem.empty()) {
    fmt::print(stderr, "drycrank judge: {}\n", live->problem);
    return kBadInput;
  }
  scenario::Timeline timeline(*loaded.bench, scenario);
  check::Checker checker(*loaded.bench, scenario, timeline);
  const record::PlayedRecord played =
      record::PlayRecord(options.record, *loaded.bench, scenario, timeline, checker);
  PrintProblems(played.problems);
  if (played.steps.empty()) return kBadInput;

  report::Report report;
  report.version = study::Version();
  report.hint_command =
      fmt::format("drycrank judge {} --record {}", options.scenario, options.record);
  report.bench = &*loaded.bench;
  report.scenario = &scenario;
  report.seed = played.seed;
  report.duration_ns = played.duration_ns;
  report.mode = "from a record of: " + played.mode;
  report.verdicts = checker.verdicts();
  report.quiet = checker.quiet();
  report.steps = played.steps;
  report.controller_real = loaded.bench->controller && WasReal(played.mode, "controller");
  report.display_real = loaded.bench->display && WasReal(played.mode, "display");
  report.stopped = WasCut(played.why_ended) || (!live && study::EndedEarly(scenario, played.steps));
  report.coverage = study::EvidenceOf({*loaded.bench,
                                       scenario,
                                       report.verdicts,
                                       report.steps,
                                       report.controller_real,
                                       true,
                                       {},
                                       report.quiet,
                                       WereOutputsDriven(played.mode)
                                           ? walk::ReachOfReal(*loaded.bench, true).circuits
                                           : std::set<std::string>()});
  report.notes =
      record::ProfileChanges(options.record, loaded.files, report.version, live.has_value());
  report.notes.insert(report.notes.end(), played.notes.begin(), played.notes.end());
  if (live) report.notes.insert(report.notes.end(), live->notes.begin(), live->notes.end());
  if (!played.why_ended.empty() && played.why_ended != "finished") {
    report.notes.push_back(fmt::format("{:.3f} s: the record ends here: {}",
                                       ToSeconds(played.duration_ns), played.why_ended));
  }
  for (const Diagnostic& problem : played.problems) report.notes.push_back(Format(problem));
  const std::string problem = Publish(report, options.files);
  if (!problem.empty()) {
    fmt::print(stderr, "drycrank judge: {}\n", problem);
    return kBenchFailed;
  }
  if (!played.problems.empty()) return kBadInput;
  return ExitCodeOf(report);
}

}  // namespace

void AddJudge(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand(
      "judge", "Judge a record once more, or a recording, without running anything");
  command->add_option("scenario", options->scenario, "Scenario file (YAML)")
      ->required()
      ->type_name("SCENARIO");
  command
      ->add_option("--record", options->record,
                   "Folder that a run left behind, or a recording of bus traffic from elsewhere")
      ->required()
      ->type_name("RECORD");
  command
      ->add_option("--bus", options->buses,
                   "Which interface of a recording is a bus of the bench; may be repeated. Without "
                   "it: the one of the same name; all, where the bench has one bus")
      ->type_name("BUS=INTERFACE");
  AddReportOptions(*command, options->files);
  command->footer(
      "Of a record of drycrankd what it was told is the scenario; SCENARIO gives what is "
      "expected.\nOf a recording (candump log, pcapng, pcap) only what frames alone can answer is "
      "judged, over all\nof it; the rest is not observed, exit code 4.\n\n"
      "Examples:\n"
      "  drycrank judge profiles/scenarios/hill_climb/healthy.yaml --record out/healthy\n"
      "  drycrank judge profiles/scenarios/hill_climb/healthy.yaml --record drive.log --bus "
      "vehicle=can0");
  command->callback([options, &exit_code] { exit_code = Judge(*options); });
}

}  // namespace drycrank::tools
