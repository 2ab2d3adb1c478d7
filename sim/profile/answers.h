// SPDX-License-Identifier: Apache-2.0
//
// What a person says about an output or a circuit after having looked at it, and files of such
// answers, for a walk that nobody sits beside:
//
//   radiator_fan: yes            as YAML; or as CSV, with the first line "circuit,answer":
//   gear_oil_signal: not_fitted  radiator_fan,yes
//   display: dashes              of a display that only listens: yes, dashes or dark
#ifndef DRYCRANK_PROFILE_ANSWERS_H_
#define DRYCRANK_PROFILE_ANSWERS_H_

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "profile/bench.h"
#include "types/diagnostic.h"

namespace drycrank::profile {

// The last two are said of a display that is looked at: nothing at all, or nothing but dashes.
enum class Answer { kYes, kNo, kSkip, kNotFitted, kDark, kOnlyDashes };
const char* Name(Answer answer);  // "yes", "not_fitted"
// In full or by its letter: y, n, s, f (dark and dashes in full); upper or lower case.
std::optional<Answer> ParseAnswer(std::string_view text);

// What a meter showed between two places, key off.
struct MeterReading {
  std::string plus, minus;
  double ohm = 0;  // infinite: open
  std::string time;  // "2026-03-01 14:05 UTC"
  std::string by;
  std::string meter;  // that it was read from, by its own words; empty: somebody typed it
};

struct GivenAnswer {
  std::string about;  // an output of the controller, a circuit, or a question about a bus
  Answer answer = Answer::kSkip;
  std::vector<MeterReading> readings = {};  // that it was given by; empty: by eyes and ears
};

// Dark and dashes are said of a display alone.
bool Fits(std::string_view about, Answer answer);

struct [[nodiscard]] LoadedAnswers {
  std::vector<GivenAnswer> answers;
  Diagnostics problems;
};
LoadedAnswers LoadAnswers(const Bench& bench, const std::string& path);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_ANSWERS_H_
