// SPDX-License-Identifier: Apache-2.0
//
// What is left of a diagnosis after readings at the bench, and the next test, in words for a terminal
// of any width and for a page.
#ifndef DRYCRANK_REPORT_WHAT_IS_LEFT_H_
#define DRYCRANK_REPORT_WHAT_IS_LEFT_H_

#include <span>
#include <string>
#include <vector>

#include "diagnose/narrowed.h"
#include "diagnose/next_test.h"

namespace drycrank::report {

// A reading that a person gave back, as it is kept.
struct GivenReading {
  int number = 0;
  std::string said;  // "CMP.3=0.72 V"
  std::string time;  // "2026-03-01 14:05"
  std::string by;    // may be empty
  diagnose::Answered answered;
  std::string meter = {};  // that it was read from; empty: by a person's eyes
};

// What a hand must know before it makes this test.
std::string CautionOf(const diagnose::Test& test);
// How each suspect of an answer is called, at most `most`, "and 3 more".
std::vector<std::string> SuspectsOf(const profile::Bench& bench, const diagnose::Narrowed& narrowed,
                                    const diagnose::Answer& answer, std::size_t most);

// The test, its caution, and what each answer would leave. Lines of at most `columns`.
std::string TestText(const profile::Bench& bench, const diagnose::Narrowed& narrowed,
                     const diagnose::NextTest& test, int columns);
// "Repair: ..." when one is named, else what is left, likeliest first.
std::string LeftText(const profile::Bench& bench, const diagnose::Narrowed& narrowed, int columns);
// What the readings say against each other, or against all suspects; a sentence each.
std::vector<std::string> Objections(const diagnose::MeasuredModel& model,
                                    const diagnose::Narrowed& narrowed,
                                    std::span<const GivenReading> given);
std::string GivenText(std::span<const GivenReading> given, int columns);

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_WHAT_IS_LEFT_H_
