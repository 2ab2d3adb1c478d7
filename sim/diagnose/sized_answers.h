// SPDX-License-Identifier: Apache-2.0
//
// How likely answers are under one suspect. Of ohms the record may know the size well, or hardly at
// all, as where one input divides out what another loses: the likelihood is averaged over sizes R,
//
//   p(answers) = sum w p(answers | R) / sum w        w = e^(-z^2 / 2), z = ln(R / fitted) / spread
//
// the same R for all answers; spread: one deviation, by the record's own likelihood, at least 0.5
// (common practice, no source). What is foretold is worked out at some sizes and taken as straight
// between them, since a meter knows better than they lie apart.
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
// `spread`: of ln R; 0: not known.
AnswersWeighed WeighAnswers(MeasuredModel& model, std::span<const Answered> answers,
                            const Hypothesis& hypothesis, double spread);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_SIZED_ANSWERS_H_
