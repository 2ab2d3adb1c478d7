// SPDX-License-Identifier: Apache-2.0
//
// `capture` of a scenario, and what cannot stand beside it. The trace itself is read when it is
// played.
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "profile/keys_scenario.h"
#include "profile/load_scenario.h"
#include "profile/table_reader.h"
#include "profile/triggers.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

std::string FileNamed(ScenarioContext& c, const Ref& ref, const char* remedy) {
  const std::string path = yaml::PathBeside(ref.place.file, ref.text);
  std::error_code error;
  if (!std::filesystem::is_regular_file(path, error)) {
    c.problems.Add(ref.place, fmt::format("there is no file '{}'", path), remedy);
  }
  return path;
}

constexpr const char* kNameATrace = "name a CSV, WAV, VCD or .sr file, relative to this file";

void ReadSection(ScenarioContext& c, const Node& node, PlayedCapture& capture) {
  Reader r(c.problems, node, "capture");
  TakeAll(r, kPlayedCaptureKeys, capture);
  if (const auto file = r.GetRef("file")) capture.file = FileNamed(c, *file, kNameATrace);
  if (const auto map = r.GetRef("map")) {
    capture.map = FileNamed(c, *map, "name a map (kind: capture), relative to this file");
  }
  if (capture.to_s && *capture.to_s <= capture.from_s) {
    r.Complain("to_s", fmt::format("it ends at {:g} s, not after its begin", *capture.to_s),
               "write to_s later than from_s");
  }
}

// Does the stimulus turn the crank or a cam?
bool Turns(const Bench& bench, int stimulus) {
  if (stimulus == 0) return true;
  return stimulus > 0 && std::ranges::any_of(bench.triggers, [stimulus](const Trigger& trigger) {
           return trigger.advance_stimulus == stimulus;
         });
}

void CheckDrives(ScenarioContext& c) {
  for (const Step& step : c.scenario.steps) {
    for (const Drive& drive : step.drives) {
      if (!Turns(c.bench, drive.stimulus)) continue;
      c.problems.Add(drive.place,
                     fmt::format("'{}' is driven, and crank and cams are those of the capture",
                                 Nth(c.bench.stimuli, drive.stimulus).name),
                     "leave it out, or leave out 'capture'");
    }
  }
}

void CheckFaults(ScenarioContext& c) {
  for (const Fault& fault : c.scenario.faults) {
    if (IndexOf(c.bench.triggers, fault.at) < 0) continue;
    c.problems.Add(
        fault.place,
        fmt::format("a fault at '{}', and crank and cams are those of the capture", fault.at),
        "leave it out: a capture has its own faults");
  }
}

// The stimulus that it is compared with; -1: none.
int TargetOf(const ExpectationKind& kind) {
  const expect::Target* target = nullptr;
  if (const auto* follows = std::get_if<expect::Follows>(&kind)) target = &follows->target;
  if (const auto* shows = std::get_if<expect::DisplayShows>(&kind)) target = &shows->target;
  if (const auto* reads = std::get_if<expect::ControllerReads>(&kind)) target = &reads->target;
  return target == nullptr || target->value ? -1 : target->stimulus;
}

bool NeedsTheCrank(const Bench& bench, const ExpectationKind& kind) {
  const Needs needs = NeedsOf(kind);
  return needs == Needs::kAngles || needs == Needs::kTurns || Turns(bench, TargetOf(kind));
}

void CheckExpectations(ScenarioContext& c) {
  for (const Expectation& expectation : c.scenario.expectations) {
    if (!NeedsTheCrank(c.bench, expectation.kind)) continue;
    c.problems.Add(
        expectation.place,
        fmt::format("'{}' ({}) is judged by how the crank turns, which nobody knows of a capture",
                    expectation.name, Name(expectation.kind)),
        "leave it out; 'within', 'always', 'never' and 'order' are judged by what is reported, and "
        "'drycrank match' says angles");
  }
}

}  // namespace

void LoadCapture(ScenarioContext& c, const Node& node) {
  PlayedCapture capture;
  capture.place = node.Where();
  if (node.kind == NodeKind::kMap) {
    ReadSection(c, node, capture);
  } else if (const auto file = ReadRef(c.problems, node, "'capture'")) {
    capture.file = FileNamed(c, *file, kNameATrace);
  }
  c.scenario.capture = std::move(capture);
}

void CheckBesideCapture(ScenarioContext& c) {
  if (!c.scenario.capture) return;
  if (!c.bench.controller) {
    c.problems.AddReference(c.scenario.capture->place, "the bench has no controller to play it to",
                            "add one");
  }
  if (c.scenario.start_deg != 0) {
    c.problems.Add(c.scenario.capture->place,
                   "'start_deg' is given, and where the crank of a "
                   "capture stands nobody knows",
                   "leave it out");
  }
  CheckDrives(c);
  CheckFaults(c);
  CheckExpectations(c);
}

}  // namespace drycrank::profile
