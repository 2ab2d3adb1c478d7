// SPDX-License-Identifier: Apache-2.0
#include "profile/keys_expectation.h"
#include "profile/keys_fault.h"
#include "profile/keys_scenario.h"
#include "profile/make_section.h"

namespace drycrank::profile {
namespace {

// One part for each kind.
std::vector<Part> ByKind(Part always, std::span<const KindKeys> kinds) {
  std::vector<Part> parts = {std::move(always)};
  for (const KindKeys& kind : kinds) {
    Part part{Part::When::kKeyIs, "kind", kind.kind, kind.meaning};
    for (const Row& row : kind.keys) {
      part.keys.push_back({row.key, row.value, row.meaning, row.needs, std::string(row.usual)});
    }
    parts.push_back(std::move(part));
  }
  return parts;
}

std::vector<Part> ExpectationParts() {
  std::vector<Part> parts = ByKind(Always(kExpectationKeys), kExpectationKinds);
  const auto add = [&](Part part) {
    part.kind = "trouble_code";
    parts.push_back(std::move(part));
  };
  add(WhenIsOrNone("over", "obd", "The code as a tester shows it.", kAskedCodeKeys));
  add(WhenIs("over", "uds", "The code as a tester shows it.", kAskedCodeKeys));
  add(WhenIsOrNone("over", "dm1", "The code as J1939 has it.", kSentCodeKeys));
  return parts;
}

}  // namespace

std::vector<SectionInfo> ScenarioSections() {
  return {
      {"scenario",
       "a scenario file",
       "What happens on a bench, and what must be seen.",
       {Always(kScenarioKeys)}},
      {"step",
       "a step",
       "A stretch of time.",
       {Always(kStepKeys), WhenThere("wait_for", "Not every controller gets there.", kWaitKeys)}},
      {"condition",
       "a condition",
       "Something that is true or not of a signal.",
       {Always(kConditionKeys)}},
      {"drive",
       "a drive",
       "What a step does to a stimulus, other than holding a value.",
       {Always(kDriveKeys), WhenThere("ramp", "A straight line.", kRampKeys),
        WhenThere("sine", "Up and down.", kSineKeys)}},
      {"drive_csv", "points from a file", "Two columns of a CSV file.", {Always(kDriveCsvKeys)}},
      {"replay",
       "a replay",
       "A recording that is played as traffic of a bus.",
       {Always(kReplayKeys)}},
      {"played_capture",
       "a capture",
       "A trace of a real engine, played in the place of crank and cams.",
       {Always(kPlayedCaptureKeys)}},
      {"expectation", "an expectation",
       "What must be seen. Not met, its sentence says what that means.", ExpectationParts()},
      {"fault", "a fault", "Something that is wrong, on purpose.",
       ByKind(Always(kFaultKeys, kFaultStepKeys), kFaultKinds)},
  };
}

}  // namespace drycrank::profile
