// SPDX-License-Identifier: Apache-2.0
#include "study/live_scenario.h"

#include <fmt/format.h>

#include <fstream>
#include <string_view>

#include "record/record.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::study {
namespace {

profile::Step StepOf(const profile::Bench& bench, std::size_t number, const profile::Drive& drive) {
  const profile::Stimulus& stimulus = Nth(bench.stimuli, drive.stimulus);
  profile::Step step;
  step.name = fmt::format("{}: {} {:g} {}", number, stimulus.name, drive.to, stimulus.unit);
  if (drive.kind == profile::DriveKind::kCrank) step.name += ", cranking";
  if (drive.over_s > 0) step.name += fmt::format(" in {:g} s", drive.over_s);
  step.drives = {drive};
  return step;
}

// Those that hold in every step.
void TakeExpectations(const profile::Scenario& expected, LiveScenario& live) {
  for (const profile::Expectation& expectation : expected.expectations) {
    if (expectation.during.empty()) {
      live.scenario.expectations.push_back(expectation);
    } else {
      live.notes.push_back(
          fmt::format("{} is left out: it is for step {}, and this bench was run live",
                      expectation.name, fmt::join(expectation.during, ", ")));
    }
  }
}

}  // namespace

std::optional<LiveScenario> ReadLiveScenario(const std::string& folder, const profile::Bench& bench,
                                             const profile::Scenario& expected) {
  if (record::ScenarioOf(folder) != kLiveName) return std::nullopt;
  LiveScenario live;
  live.scenario = expected;
  live.scenario.name = kLiveName;
  live.scenario.title = "Bench run live";
  live.scenario.faults.clear();
  live.scenario.replays.clear();
  live.scenario.expectations.clear();
  TakeExpectations(expected, live);
  live.scenario.steps.assign(1, {});
  live.scenario.steps[0].name = kLiveName;
  TimeNs begin_ns = 0;
  for (const record::DriveLine& line : record::DrivesOf(folder, bench, live.problem)) {
    live.scenario.steps.back().for_s = ToSeconds(line.t_ns - begin_ns);
    begin_ns = line.t_ns;
    live.scenario.steps.push_back(StepOf(bench, live.scenario.steps.size(), line.drive));
  }
  live.scenario.steps.back().for_s = 1e9;
  return live;
}

}  // namespace drycrank::study
