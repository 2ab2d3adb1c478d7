// SPDX-License-Identifier: Apache-2.0
//
// Where the readings of a person's sweep come from: asked on the terminal while the values go out, from
// a file, or from pictures, which a camera may take. What is older than it may be is no reading.
#ifndef DRYCRANK_TOOLS_PERSON_SWEEP_H_
#define DRYCRANK_TOOLS_PERSON_SWEEP_H_

#include <set>
#include <string>
#include <vector>

#include "sweep/missing_answers.h"
#include "sweep/person.h"
#include "tools/arming.h"

namespace drycrank::tools {

struct PersonWish {
  std::string out, answers, pictures, camera, marks, bench_hash;
  std::vector<std::string> buses;
  ArmingWish arming;
  bool resume = false;
  double greatest_age_h = 24;  // ours, no source
  bool age_is_said = false;
};

struct PersonRead {
  std::vector<sweep::Reading> readings;
  std::vector<std::string> not_shown;  // too old
  std::vector<std::string> doubts;     // of pictures
  std::vector<std::string> missing;    // pictures
  std::set<sweep::QuestionOfPage> without_picture;
  std::string problem;                 // said already where it is not here
  int exit_code = 0;                   // else: nothing was read
};
PersonRead ReadByPerson(const profile::Bench& bench, const std::vector<profile::Readout>& readouts,
                        const PersonWish& wish);

// What was not shown, for the terminal: a line for each page, not one for each answer.
std::vector<std::string> NotShownLines(const profile::Bench& bench, const PersonRead& read,
                                       const sweep::PersonSaw& saw);
// What to do next, where an answer is missing; else empty.
std::string NextStep(const PersonWish& wish, const sweep::PersonSaw& saw);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_PERSON_SWEEP_H_
