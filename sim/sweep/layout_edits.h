// SPDX-License-Identifier: Apache-2.0
//
// Single edits of how a display decodes what it shows: of the signal, of the selector of its message,
// of the identifier. Part of edits.h.
#ifndef DRYCRANK_SWEEP_LAYOUT_EDITS_H_
#define DRYCRANK_SWEEP_LAYOUT_EDITS_H_

#include <vector>

#include "sweep/edits.h"

namespace drycrank::sweep {

// REQUIRES: the display has a gauge of the readout's name.
std::vector<Edit> LayoutEdits(const profile::Bench& bench, const profile::Readout& readout,
                              const std::vector<ShownFact>& facts);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_LAYOUT_EDITS_H_
