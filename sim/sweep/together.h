// SPDX-License-Identifier: Apache-2.0
//
// Readouts of a display on the bus that smooth are moved at the same time: each of their values
// takes long to come to its end, and they can come there together. Which of them smooth is seen
// first: all go to one end of their range, then to the other, four times.
//
// In each turn all of them are sent their next value, and the turn ends once all were seen. Each
// begins one turn after the one before it, so that two that are sent the same values are not sent
// them at the same time: one that shows its neighbour's value is found. What depends on another
// readout's signals or stops a message (a lamp that latches, a key that acknowledges, what is kept,
// silence) is swept by itself. A stand-in that plays such a display is moved in the same way, so
// that a setting by which two of them touch each other explains what was shown.
#ifndef DRYCRANK_SWEEP_TOGETHER_H_
#define DRYCRANK_SWEEP_TOGETHER_H_

#include <string>
#include <vector>

#include "sweep/readout_sweep.h"

namespace drycrank::sweep {

// Each has a signal of its own, which can be moved without moving another. Fewer than two: none.
std::vector<const profile::Readout*> MovedTogether(const profile::Bench& bench,
                                                   const std::vector<profile::Readout>& readouts,
                                                   Screen& screen);

// Their values up and down and their limits, into out.facts. Names of those of which the display
// told nothing any more.
std::vector<std::string> SweepTogether(const profile::Bench& bench,
                                       const std::vector<const profile::Readout*>& together,
                                       Screen& screen, Swept& out);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_TOGETHER_H_
