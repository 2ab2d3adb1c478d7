// SPDX-License-Identifier: Apache-2.0
//
// Values on the edge between two digits shown, or between two counts of lit segments. A display that
// smooths comes to such a value from one side, and arrives or never does: either is right there.
#ifndef DRYCRANK_SWEEP_EITHER_SIDE_H_
#define DRYCRANK_SWEEP_EITHER_SIDE_H_

#include <cstdint>
#include <optional>
#include <vector>

#include "profile/bench.h"
#include "sweep/what_it_showed.h"

namespace drycrank::sweep {

// Whether `shown`, in the unit of the readout, is nearer to an edge than a tenth of a digit or a
// segment (ours, no source).
bool IsAtEdge(const profile::Readout& readout, double shown);

// What a display shows that smooths: short of its end, as most do, beyond it, and once it has arrived.
struct Sides {
  std::vector<ShownFact> is_short, beyond, arrived;
};
// Of one readout: what must be shown to whoever saw `seen`. All of it is of one that never arrives, or
// all of one that does, for that tells where a warning ends; where a value lies at an edge, either text
// is right. Nothing: it was neither.
std::optional<std::vector<ShownFact>> SideSeen(const Sides& sides,
                                               const std::vector<ShownFact>& seen);
// Few facts differ in more than a text: it may be one of them.
bool MayBeAnotherSide(const std::vector<ShownFact>& due, const std::vector<ShownFact>& seen);

// What the bench's display must show to the witness of `showed`, as it arrives there.
WhatItShowed SweepStandinAsSeen(const profile::Bench& bench, std::uint64_t seed, bool seen_by_echo,
                                bool with_switching_on, const WhatItShowed& showed);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_EITHER_SIDE_H_
