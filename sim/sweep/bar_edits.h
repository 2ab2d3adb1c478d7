// SPDX-License-Identifier: Apache-2.0
//
// Single edits of the bar of a gauge: an end, how many segments it has, when one lights, and a bar
// where a number was set or the other way round. Each value that was sent says between what the value
// of an end lies, so that as many segments are lit as were seen (readout.h). Part of edits.h.
#ifndef DRYCRANK_SWEEP_BAR_EDITS_H_
#define DRYCRANK_SWEEP_BAR_EDITS_H_

#include <vector>

#include "sweep/edits.h"

namespace drycrank::sweep {

// REQUIRES: the display has a gauge of the readout's name.
std::vector<Edit> BarEdits(const profile::Bench& bench, const profile::Readout& readout,
                           const std::vector<ShownFact>& facts);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_BAR_EDITS_H_
