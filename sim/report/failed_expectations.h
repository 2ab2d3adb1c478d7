// SPDX-License-Identifier: Apache-2.0
//
// What was expected of a run and did not come, and why the readings at rest, which a diagnosis goes
// by, do not show it: the step never rests, it is about how messages come, or it passes.
#ifndef DRYCRANK_REPORT_FAILED_EXPECTATIONS_H_
#define DRYCRANK_REPORT_FAILED_EXPECTATIONS_H_

#include <span>
#include <string>
#include <vector>

#include "check/checker.h"
#include "diagnose/reading.h"
#include "profile/scenario_file.h"

namespace drycrank::report {

// What a diagnosis weighs of it besides the readings (diagnose/edges.h, fired.h).
enum class About { kReadings, kEdges, kSparks };

struct FailedExpectation {
  std::string name;
  std::string detail;   // "reported 141.0 °C, should be 90.0 °C ± 2.0 °C"
  std::string why_not;  // why the readings at rest do not show it
  About about = About::kReadings;
};

// `rested`: the situations that were read.
std::vector<FailedExpectation> FailedExpectations(const profile::Scenario& scenario,
                                                  std::span<const check::Verdict> verdicts,
                                                  std::span<const diagnose::Situation> rested);

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_FAILED_EXPECTATIONS_H_
