// SPDX-License-Identifier: Apache-2.0
//
// Behind a capacitor a wave begins beside its rest and comes back to it within some tenths of a
// second. Until then halves of it do not reach the other side, and their edges are not seen.
//
//    /\  /\  /\                   longer on one side than over the whole capture:
//   /  \/  \/  \  /\  /\          not settled
//   -------------\/--\/--\/-- rest
#ifndef DRYCRANK_CAPTURE_SETTLED_WAVE_H_
#define DRYCRANK_CAPTURE_SETTLED_WAVE_H_

#include <span>

#include "capture/edge_finder.h"

namespace drycrank::capture {

// From when on a wave is as long above rest as it is over the whole capture; 0: from the first
// edge.
double SettledFromNs(std::span<const SeenChange> changes);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_SETTLED_WAVE_H_
