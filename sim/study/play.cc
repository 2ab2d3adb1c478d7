// SPDX-License-Identifier: Apache-2.0
#include "study/play.h"

#include <fmt/format.h>

#include <set>
#include <string>

#include "report/summary.h"
#include "report/text.h"
#include "run/pace.h"
#include "study/bus_lines.h"
#include "study/circuits_shown.h"
#include "study/cycle_view.h"
#include "study/of_the_cycle.h"
#include "study/oscilloscope.h"
#include "study/run_facts.h"
#include "types/nth.h"
#include "walk/reach.h"

namespace drycrank::study {
namespace {

record::RecordHead Head(const profile::Bench& bench, const profile::Scenario& scenario,
                        const PlayOptions& options) {
  record::RecordHead head;
  head.version = Version();
  head.scenario = scenario.name;
  head.bench = bench.name;
  head.seed = options.run.seed;
  head.mode = options.mode;
  head.interfaces = InterfaceWords(bench, options.run.interfaces);
  head.files = options.files;
  head.armed = options.armed;
  head.real_time = options.clock->IsReal();
  return head;
}

// Pictures show the trigger inputs, and those count edges.
run::RunOptions RunOf(const PlayOptions& options) {
  run::RunOptions run = options.run;
  run.edges_only = true;
  return run;
}

// Without the outside.
run::RunOptions TwinOf(const PlayOptions& options) {
  run::RunOptions twin = RunOf(options);
  twin.interfaces.clear();
  return twin;
}

// A run that ended before a fault began says nothing of it.
void AddFaultsNeverThere(report::Report& report) {
  for (const profile::Fault& fault : report.scenario->faults) {
    if (!fault.from_s || FromSeconds(*fault.from_s) < report.duration_ns) continue;
    report.notes.push_back(
        fmt::format("the fault '{}' was never there: it begins at {:g} s, and the "
                    "run ended at {:.1f} s",
                    fault.name, *fault.from_s, ToSeconds(report.duration_ns)));
  }
}

// The same motion on the bench without faults: the picture as it should look.
report::ScopePicture HealthyPicture(const profile::Bench& bench, const profile::Scenario& scenario,
                                    const RunFacts& facts, const PlayOptions& options,
                                    ScopeWindow window) {
  profile::Scenario healthy = WithStepTimes(scenario, facts.steps());
  healthy.faults.clear();
  healthy.expectations.clear();
  run::RunOptions run = TwinOf(options);
  run.controller = bench.controller.has_value();
  run::Runner twin(bench, healthy, run);
  Oscilloscope scope(bench, window);
  twin.AddObserver(&scope);
  twin.Start();
  twin.RunTo(window.end_ns + 50 * kNsPerMs);
  twin.Finish(twin.now_ns());
  return scope.Picture("The same moment on a healthy bench");
}

// The worst of those that failed.
const check::Verdict* WorstOfTheCycle(const report::Report& report) {
  for (const check::Verdict* verdict : report::WorstFirst(report)) {
    if (verdict->outcome != check::Outcome::kFailed) continue;
    const auto& e = Nth(report.scenario->expectations, verdict->expectation);
    if (IsOfTheCycle(*report.bench, e)) return verdict;
  }
  return nullptr;
}

// The same run again, up to the cycle in which it was worst.
void AddWorstCycle(const RunFacts& facts, const PlayOptions& options, report::Report& report) {
  const check::Verdict* worst = WorstOfTheCycle(report);
  // What a real controller's pins saw, nobody knows; nor where the crank of a capture stands.
  if (worst == nullptr || report.controller_real || report.scenario->capture) return;
  profile::Scenario again = WithStepTimes(*report.scenario, facts.steps());
  run::RunOptions run = TwinOf(options);
  run.controller = true;
  run::Runner twin(*report.bench, again, run);
  CycleView view(*report.bench, twin, worst->worst_ns);
  twin.AddObserver(&view);
  twin.Start();
  for (TimeNs t_ns = worst->worst_ns; t_ns < report.duration_ns && !view.is_whole();) {
    t_ns = std::min(t_ns + 50 * kNsPerMs, report.duration_ns);
    twin.RunTo(t_ns);
  }
  twin.Finish(twin.now_ns());
  const std::string name =
      report::LabelOf(Nth(report.scenario->expectations, worst->expectation).name);
  auto picture = view.Picture("Where it was worst: " + name);
  if (picture) report.cycles.push_back(std::move(*picture));
}

}  // namespace

const char* Version() { return DRYCRANK_VERSION; }

std::vector<std::string> InterfaceWords(const profile::Bench& bench,
                                        std::span<bus::CanBus* const> interfaces) {
  std::vector<std::string> words;
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    const bus::CanBus* outside = b < interfaces.size() ? interfaces[b] : nullptr;
    std::string text =
        fmt::format("{}: {}", bench.buses[b].name, outside ? outside->Description() : "inproc");
    const std::string properties = outside ? outside->Properties() : "";
    if (!properties.empty()) text += fmt::format(" ({})", properties);
    words.push_back(std::move(text));
  }
  return words;
}

PlayResult Play(const profile::Bench& bench, const profile::Scenario& scenario,
                const PlayOptions& options) {
  PlayResult result;
  run::RunOptions run = RunOf(options);
  run.clock = options.clock;
  run::Runner runner(bench, scenario, run);
  RunFacts facts(bench, scenario);
  Oscilloscope scope(bench, runner.controller());
  std::unique_ptr<record::RecordWriter> record;
  if (!options.record_folder.empty()) {
    result.problem = record::RecordWriter::Open(options.record_folder, options.overwrite,
                                                Head(bench, scenario, options), bench, scenario,
                                                runner.timeline(), record);
    if (!result.problem.empty()) return result;
    runner.AddObserver(record.get());
    if (options.on_record) options.on_record(*record);
  }
  runner.AddObserver(&facts);
  CycleView cycle(bench, runner);
  if (options.pictures) {
    runner.AddObserver(&scope);
    runner.AddObserver(&cycle);
  }
  for (run::RunObserver* observer : options.observers) runner.AddObserver(observer);

  runner.Start();
  const run::PaceResult pace = run::Pace(runner, *options.clock, options.why_stop);
  result.stopped = pace.stopped;
  result.frames = runner.frames();
  result.problem = runner.failure();
  if (record && result.problem.empty()) result.problem = record->problem();

  report::Report& report = result.report;
  report.version = Version();
  report.hint_command = options.hint_command;
  report.bench = &bench;
  report.scenario = &scenario;
  report.seed = options.run.seed;
  report.duration_ns = facts.duration_ns();
  report.mode = options.mode;
  report.verdicts = runner.checker().verdicts();
  report.quiet = runner.checker().quiet();
  report.steps = facts.steps();
  report.controller_real = bench.controller && !options.run.controller;
  report.display_real = bench.display && !options.run.display;
  report.stopped = pace.stopped;
  if (options.weigh) {
    report.coverage = EvidenceOf({bench,
                                  scenario,
                                  report.verdicts,
                                  report.steps,
                                  report.controller_real,
                                  true,
                                  {},
                                  report.quiet,
                                  options.outputs_driven
                                      ? walk::ReachOfReal(bench, true).circuits
                                      : std::set<std::string>()});
  }
  report.notes = facts.notes();
  AddFaultsNeverThere(report);
  report.buses = BusLines(bench, options.run, runner, facts);
  report.messages = MessageLines(bench, runner);
  if (record && result.problem.empty() && options.folder_is_there()) {
    result.problem = WriteMessageLines(options.record_folder, report.messages);
  }
  for (std::string& note : MessageNotes(report.messages)) report.notes.push_back(std::move(note));
  if (options.pictures && bench.controller && !bench.controller->triggers.empty()) {
    AddWorstCycle(facts, options, report);
    if (auto first = cycle.Picture()) report.cycles.push_back(std::move(*first));
    // A capture brings faults of its own: with it no bench is healthy.
    const bool faulty = !scenario.faults.empty() && !scenario.capture;
    report.pictures.push_back(scope.Picture(
        scope.synchronised() ? "Crank and cam around synchronisation" : "Crank and cam signals"));
    if (faulty && scope.window()) {
      report.pictures.push_back(HealthyPicture(bench, scenario, facts, options, *scope.window()));
    }
  }
  return result;
}

}  // namespace drycrank::study
