// SPDX-License-Identifier: Apache-2.0
//
// Values on the edge between two digits shown, or between two counts of lit segments. A display
// that smooths comes to such a value from one side, and arrives or never does: either is right
// there.
#ifndef DRYCRANK_SWEEP_EITHER_SIDE_H_
#define DRYCRANK_SWEEP_EITHER_SIDE_H_

#include <cstdint>

#include "profile/bench.h"
#include "sweep/what_it_showed.h"

namespace drycrank::sweep {

// Whether `shown`, in the unit of the readout, is nearer to an edge than a tenth of a digit or a
// segment (ours, no source).
bool IsAtEdge(const profile::Readout& readout, double shown);

// What both sides show has the text that was seen; limits stay.
// `one` and `other`: the same sweep, with what is smoothed short of its end, and beyond it.
void TakeEitherSide(const std::vector<ShownFact>& one, const std::vector<ShownFact>& other,
                    const std::vector<ShownFact>& seen, std::vector<ShownFact>& due);

// Of the same steps, and nothing but texts differs: it may be that.
bool OnlyTextsDiffer(const std::vector<ShownFact>& a, const std::vector<ShownFact>& b);

// What the bench's display must show to the witness of `showed`, either side taken as it was seen.
WhatItShowed SweepStandinAsSeen(const profile::Bench& bench, std::uint64_t seed, bool seen_by_echo,
                                bool with_switching_on, const WhatItShowed& showed);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_EITHER_SIDE_H_
