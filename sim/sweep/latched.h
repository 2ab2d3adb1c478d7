// SPDX-License-Identifier: Apache-2.0
//
// A lamp that stays lit, in what a person or pictures told, question after question: once it is lit
// it is not dark again in the six questions, for nothing acknowledges it there.
#ifndef DRYCRANK_SWEEP_LATCHED_H_
#define DRYCRANK_SWEEP_LATCHED_H_

#include <vector>

#include "profile/bench.h"
#include "sweep/what_it_showed.h"

namespace drycrank::sweep {

struct GoneOut {
  ShownFact lit, dark;  // dark: of a later question
};
// The first of each readout whose lamp must stay lit. Of another witness: none.
std::vector<GoneOut> LampsGoneOut(const profile::Bench& bench, const WhatItShowed& showed);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_LATCHED_H_
