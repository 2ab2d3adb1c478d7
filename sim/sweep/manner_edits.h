// SPDX-License-Identifier: Apache-2.0
//
// Single edits of how a gauge shows (its lamp, what is kept, a message without a value) and of how the
// display goes on and off. Part of edits.h.
#ifndef DRYCRANK_SWEEP_MANNER_EDITS_H_
#define DRYCRANK_SWEEP_MANNER_EDITS_H_

#include <vector>

#include "sweep/edits.h"

namespace drycrank::sweep {

// REQUIRES: the display has a gauge of the readout's name.
std::vector<Edit> MannerEdits(const profile::Bench& bench, const profile::Readout& readout,
                              const std::vector<ShownFact>& facts);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_MANNER_EDITS_H_
