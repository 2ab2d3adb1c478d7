// SPDX-License-Identifier: Apache-2.0
//
// What a person says about an output or a circuit after having looked at it, and files of such
// answers, for a walk that nobody sits beside:
//
//   radiator_fan: yes            as YAML; or as CSV, with the first line "circuit,answer":
//   gear_oil_signal: not_fitted  radiator_fan,yes
#ifndef DRYCRANK_PROFILE_ANSWERS_H_
#define DRYCRANK_PROFILE_ANSWERS_H_

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "profile/bench.h"
#include "types/diagnostic.h"

namespace drycrank::profile {

enum class Answer { kYes, kNo, kSkip, kNotFitted };
const char* Name(Answer answer);  // "yes", "not_fitted"
// In full or by its letter: y, n, s, f; upper or lower case.
std::optional<Answer> ParseAnswer(std::string_view text);

struct GivenAnswer {
  std::string about;  // an output of the controller, or a circuit
  Answer answer = Answer::kSkip;
};

struct [[nodiscard]] LoadedAnswers {
  std::vector<GivenAnswer> answers;
  Diagnostics problems;
};
LoadedAnswers LoadAnswers(const Bench& bench, const std::string& path);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_ANSWERS_H_
