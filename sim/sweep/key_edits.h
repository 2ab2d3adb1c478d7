// SPDX-License-Identifier: Apache-2.0
//
// Single edits of where a display looks for a key: one that acknowledges, or the one that switches
// it. Part of edits.h.
#ifndef DRYCRANK_SWEEP_KEY_EDITS_H_
#define DRYCRANK_SWEEP_KEY_EDITS_H_

#include <vector>

#include "sweep/edits.h"

namespace drycrank::sweep {

// REQUIRES: bench.display has the readout's gauge.
std::vector<Edit> KeyEdits(const profile::Bench& bench, const profile::Readout& readout);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_KEY_EDITS_H_
