// SPDX-License-Identifier: Apache-2.0
//
// Which offsets a controller may have been told, by the cam angles that it reports: what is told so much
// later makes its own cam seem as much earlier, and every cam as much later when it is told of the
// primary's wheel.
//
//   told = right + (seen - healthy)      of a cam's channel
//   told = right - (seen - healthy)      of the primary's
//
// Beyond its window a cam's edge is laid to the nearest place, which may be that of another edge: then
// told may be farther off by the distance of any two edges.
#ifndef DRYCRANK_DIAGNOSE_TOLD_OFFSETS_H_
#define DRYCRANK_DIAGNOSE_TOLD_OFFSETS_H_

#include <vector>

#include "diagnose/facts.h"
#include "diagnose/hypothesis.h"
#include "diagnose/nuisance.h"

namespace drycrank::diagnose {

// Sizes of the hypothesis, each once, within its range. REQUIRES: it is about the offset of a channel.
std::vector<double> ToldOffsetsOf(const Predictor& predictor, const Facts& facts,
                                  const ValueRows& healthy, const Hypothesis& hypothesis);
// log of how narrowly such an angle is known, over the range of the hypothesis.
double LogAreaOfOffset(const Hypothesis& hypothesis);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_TOLD_OFFSETS_H_
