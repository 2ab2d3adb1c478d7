// SPDX-License-Identifier: Apache-2.0
//
// What nobody has answered of all that a person or pictures were asked, a line for each page:
//
//   page 1: none of 42 answers was given
//   page 2: 9 of 18 answers are missing: gear: 3, 5; air, oil: lamp test; fuel: all
#ifndef DRYCRANK_SWEEP_MISSING_ANSWERS_H_
#define DRYCRANK_SWEEP_MISSING_ANSWERS_H_

#include <set>
#include <string>
#include <utility>
#include <vector>

#include "sweep/person.h"

namespace drycrank::sweep {

using QuestionOfPage = std::pair<int, int>;  // question, page

// `but`: of these it is said elsewhere.
std::vector<std::string> MissingAnswers(const profile::Bench& bench, const PersonSaw& saw,
                                        const std::set<QuestionOfPage>& but = {});

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_MISSING_ANSWERS_H_
