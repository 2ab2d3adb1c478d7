// SPDX-License-Identifier: Apache-2.0
//
// A diagnosis in words: which faults explain the readings, what speaks for and against the best of
// them, and which test to make next.
#ifndef DRYCRANK_REPORT_DIAGNOSIS_H_
#define DRYCRANK_REPORT_DIAGNOSIS_H_

#include <optional>
#include <string>
#include <vector>

#include "diagnose/after_readings.h"
#include "diagnose/next_test.h"
#include "diagnose/rank.h"
#include "profile/bench.h"
#include "report/failed_expectations.h"
#include "report/what_is_left.h"

namespace drycrank::report {

// All that one diagnosis found; everything pointed to must outlive it.
struct DiagnosisReport {
  const profile::Bench* bench = nullptr;
  const std::vector<diagnose::Situation>* situations = nullptr;
  const std::vector<diagnose::Reading>* readings = nullptr;
  const diagnose::Diagnosis* diagnosis = nullptr;  // as readings at the bench leave it
  const diagnose::Observation* observed = nullptr;
  std::vector<FailedExpectation> failed;                 // of the run or walk
  std::string record;                                    // where it came from, as the user said it
  std::vector<diagnose::Clue> clues_for, clues_against;  // of the first group's first member
  std::optional<diagnose::DisplayLook> look = {};         // what somebody saw of the display
  // With readings at the bench: `diagnosis` is that of `after`, and this the one by the record alone.
  const diagnose::AfterReadings* after = nullptr;
  const diagnose::Diagnosis* before = nullptr;
  // What readings at the bench leave, and what to do next. May be null.
  const diagnose::MeasuredModel* model = nullptr;
  const diagnose::Narrowed* narrowed = nullptr;
  std::vector<GivenReading> given;
  std::vector<diagnose::NextTest> tests;
  std::vector<std::string> notes;  // what the reader must know of the record before all else
  int columns = 100;               // of the terminal
};

// Self-contained page: the suspect wires on the drawing of the harness, the two best candidates'
// predictions over what was observed, what to measure next. Well-formed XML too.
std::string DiagnosisHtml(const DiagnosisReport& report);
std::string DiagnosisText(const DiagnosisReport& report);
// Is the first likelier than "not on the list", and yet leaves readings open?
bool LeavesSome(const diagnose::Diagnosis& diagnosis);
// With readings at the bench, else empty: the share of a group before them; the readings that the
// first fault does not give, "reading 1: CMP.3=0.72 V".
std::string ShareBefore(const DiagnosisReport& report, std::size_t group);
std::vector<std::string> AgainstFirst(const DiagnosisReport& report);
// Does anything beside the record's readings speak against the first?
bool IsAnyAgainst(const DiagnosisReport& report);
// What stands above the nearest where none explains all. REQUIRES: !explained, !healthy.
std::string NoneExplains(const diagnose::Diagnosis& diagnosis, bool any_against = false);
// What was expected of edges and sparks and failed: what the first fault gives, or what it does
// not. REQUIRES: there is a group.
std::vector<FailedExpectation> OfDegrees(const DiagnosisReport& report, bool speaks_for);
// Of a healthy bench: faults that would look the same, in words, some of them.
std::vector<std::string> LikeHealthy(const DiagnosisReport& report);
inline constexpr const char* kLikeHealthyNote =
    "Likeliest is a supply or a sensor that is a little off, within its tolerance. One of these "
    "would look "
    "the same: measure the supply at its own terminals before you believe either.";
// The part of it that readings and tests are in; empty without.
std::string TestsText(const DiagnosisReport& report);
// One object: "verdict" ("healthy", "explained", "none of these"), "healthy_share", "unknown_share",
// "like_healthy", "groups", "readings", "repairs", "tests". With readings all shares are those that
// they leave; then also "before_readings" (verdict and shares by the record alone), "cleared" (the
// faults that they clear) and "share_before" of each group.
std::string DiagnosisJson(const DiagnosisReport& report);

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_DIAGNOSIS_H_
