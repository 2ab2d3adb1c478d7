// SPDX-License-Identifier: Apache-2.0
//
// How likely is all that was read, were it something that nobody has thought of?
//
//   log L = sum over bad channels of [log q + log N(its numbers; healthy, S + broad) + states]
//         + log N(numbers of all others; healthy, S, together) + their states + log(1 - q) each
//   broad = (span / 3)^2 + (0.6 (h - mean h))^2 + (span / 20)^2 for each setting
//
// or, of what comes and goes, of each number log((1 - q) N(y; healthy, S) + q / span), fourteen nats rarer.
//
// q = 1/4, and a channel is bad when that is the better of the two: it may have any offset, any gain,
// anything at each setting. A state of it costs log 0.3 for each of its words, a glitch 12. It pays
// some eight nats for each bad channel, which a fault of the list that is right beats by tens; and it
// takes what would else be a coincidence called certain.
#ifndef DRYCRANK_DIAGNOSE_UNKNOWN_H_
#define DRYCRANK_DIAGNOSE_UNKNOWN_H_

#include "diagnose/facts.h"
#include "diagnose/nuisance.h"

namespace drycrank::diagnose {

// Log likelihood; `columns`: those of the healthy bench.
double Unknown(const Facts& facts, const ValueRows& healthy, const Sensitivities& columns);
// With this channel bad, all others as on the healthy bench: of a fault that makes anything of it.
double AnythingAt(const Facts& facts, const ValueRows& healthy, const Sensitivities& columns,
                  int channel);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_UNKNOWN_H_
