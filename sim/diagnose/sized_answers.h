// SPDX-License-Identifier: Apache-2.0
//
// How likely answers are under one suspect. Of ohms the record may know the size well, or hardly at
// all, as where one input divides out what another loses: the likelihood is averaged over sizes R,
//
//   p(answers) = sum w p(answers | R) / sum w        w = e^(-z^2 / 2), z = ln(R / fitted) / spread
//
// the same R for all answers; spread: one deviation, by the record's own likelihood, at least 0.5
// (common practice, no source). Where all sizes from low to high look the same to the record, as where
// an input is at the end of its range, z is 0 between them and counted from them beyond; a plain short that
// is among them is as likely as all the others (common practice, no source). What is foretold is worked
// out at some sizes, and of a meter taken from its curve (a + b R) / (c + d R) between them, since it knows
// better than they lie apart.
#ifndef DRYCRANK_DIAGNOSE_SIZED_ANSWERS_H_
#define DRYCRANK_DIAGNOSE_SIZED_ANSWERS_H_

#include <span>
#include <vector>

#include "diagnose/hypothesis.h"
#include "diagnose/measured.h"

namespace drycrank::diagnose {

struct AnswersWeighed {
  double log_like = 0;       // of all together
  std::vector<double> each;  // log likelihood of each, were it the only one
  double value = 0;          // the likeliest size by all of them
};
// What the record knows of R; 0: nothing.
struct SizeKnown {
  double spread = 0;           // of ln R
  double low = 0, high = 0;    // ohm, between which all look the same
};
AnswersWeighed WeighAnswers(MeasuredModel& model, std::span<const Answered> answers,
                            const Hypothesis& hypothesis, const SizeKnown& known);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_SIZED_ANSWERS_H_
