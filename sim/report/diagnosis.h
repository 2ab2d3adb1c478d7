// SPDX-License-Identifier: Apache-2.0
//
// A diagnosis in words: which faults explain the readings, what speaks for and against the best of
// them, and which test to make next.
#ifndef DRYCRANK_REPORT_DIAGNOSIS_H_
#define DRYCRANK_REPORT_DIAGNOSIS_H_

#include <string>
#include <vector>

#include "diagnose/next_test.h"
#include "diagnose/rank.h"
#include "profile/bench.h"
#include "report/failed_expectations.h"

namespace drycrank::report {

// All that one diagnosis found; everything pointed to must outlive it.
struct DiagnosisReport {
  const profile::Bench* bench = nullptr;
  const std::vector<diagnose::Situation>* situations = nullptr;
  const std::vector<diagnose::Reading>* readings = nullptr;
  const diagnose::Diagnosis* diagnosis = nullptr;
  const diagnose::Observation* observed = nullptr;
  std::vector<FailedExpectation> failed;                 // of the run or walk
  std::string record;                                    // where it came from, as the user said it
  std::vector<diagnose::Clue> clues_for, clues_against;  // of the first group's first member
  std::vector<diagnose::Candidate> asked;                // whom the tests tell apart
  std::vector<diagnose::NextTest> tests;
};

// Self-contained page: the suspect wires on the drawing of the harness, the two best candidates'
// predictions over what was observed, what to measure next. Well-formed XML too.
std::string DiagnosisHtml(const DiagnosisReport& report);
std::string DiagnosisText(const DiagnosisReport& report);
// One object: "verdict" ("healthy", "explained", "none of these"), "groups", "tests".
std::string DiagnosisJson(const DiagnosisReport& report);

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_DIAGNOSIS_H_
