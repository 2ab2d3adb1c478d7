// SPDX-License-Identifier: Apache-2.0
//
// What a diagnosis says first, and whether it is right.
//
//   right   a member of the first group names the truth (kind and place; both of two), or what it gives
//           on the bench as drawn agrees with the truth within the noise (outside_world.h); "healthy" when the truth moves nothing; "none of
//           these" when the truth is of no kind that it knows
//   place   right; or a member names a place that is the truth's, or one wire or plug away
#ifndef DRYCRANK_TESTS_DIAGNOSE_OUTSIDE_JUDGE_H_
#define DRYCRANK_TESTS_DIAGNOSE_OUTSIDE_JUDGE_H_

#include <string>

#include "diagnose/rank.h"
#include "tests/diagnose/outside_truth.h"
#include "tests/diagnose/outside_world.h"

namespace drycrank::diagnose {

struct Answered {
  enum class What { kHealthy, kUnknown, kFault };
  What what = What::kUnknown;
  double share = 1;  // of what it says first
  bool right = false, place = false;
  std::string words;  // of its first member
};

// Said by a diagnosis, not judged yet.
Answered WhatIsSaid(const profile::Bench& bench, const Diagnosis& diagnosis);
// `clean`, `healthy`: rows of the truth and of nothing wrong.
struct Measure {
  const profile::Bench& bench;
  const std::vector<Reading>& readings;
  const CleanRows &healthy, &clean;
  Predictor& predictor;  // of the bench as drawn

  bool moves_nothing() const { return Agree(readings, clean, AsPredicted(healthy.value)); }
};
Answered Judged(const Measure& measure, const Truth& truth, const Diagnosis& diagnosis);
// Is it that deviation, by kind and place?
bool Names(const profile::Fault& fault, const Deviation& deviation);
bool NamesAll(const Candidate& candidate, const Truth& truth);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_TESTS_DIAGNOSE_OUTSIDE_JUDGE_H_
