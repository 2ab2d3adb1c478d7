// SPDX-License-Identifier: Apache-2.0
#include "report/failed_expectations.h"

#include <algorithm>
#include <string_view>

#include "types/nth.h"

namespace drycrank::report {
namespace {

using profile::Expectation;

bool Rests(const Expectation& expectation, std::span<const diagnose::Situation> rested) {
  return expectation.during.empty() ||
         std::ranges::any_of(rested, [&](const diagnose::Situation& situation) {
           return std::ranges::count(expectation.during, situation.name) > 0;
         });
}

// Of how messages come, of what a controller answers, of a person's or a probe's word.
const char* BesidesReadings(const Expectation& expectation) {
  const std::string_view kind = profile::Name(expectation.kind);
  if (kind == "message_present" || kind == "counter" || kind == "checksum" ||
      kind == "only_known_messages" || kind == "no_error_frames") {
    return "it is about how messages come, not about what they carry; look at the bus";
  }
  if (kind == "controller_reads" || kind == "trouble_code" || kind == "no_trouble_codes") {
    return "it is about what the controller answers when it is asked";
  }
  if (kind == "fires_at" || kind == "injects_at" || kind == "cam_edges" || kind == "order") {
    return "it is about degrees of the crank, which no reading carries: look at the wheels, their "
           "sensors, and what the controller was told of them";
  }
  if (kind == "witnessed") return "no message tells of it: take the meter to its wires";
  return nullptr;
}

std::string WhyNot(const Expectation& expectation, std::span<const diagnose::Situation> rested) {
  if (const char* besides = BesidesReadings(expectation)) return besides;
  if (!Rests(expectation, rested)) return "nothing rests for a second in the steps it is about";
  return "at the end of each step the reading is right again (it is late, or comes and goes), or "
         "off by "
         "no more than supply and sensors may be";
}

}  // namespace

std::vector<FailedExpectation> FailedExpectations(const profile::Scenario& scenario,
                                                  std::span<const check::Verdict> verdicts,
                                                  std::span<const diagnose::Situation> rested) {
  std::vector<FailedExpectation> failed;
  for (const check::Verdict& verdict : verdicts) {
    const bool counts = verdict.outcome == check::Outcome::kFailed ||
                        verdict.outcome == check::Outcome::kNotObserved;
    if (!counts) continue;
    const Expectation& expectation = Nth(scenario.expectations, verdict.expectation);
    failed.push_back({expectation.name, verdict.detail, WhyNot(expectation, rested)});
  }
  return failed;
}

}  // namespace drycrank::report
