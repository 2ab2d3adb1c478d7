// SPDX-License-Identifier: Apache-2.0
//
// Where a cam phaser may be that moves slowly, and nobody knows how slowly nor how long each step
// took: anywhere between where it was at the end of the step before and where it is sent.
//
//   low(s)  = min(sent(s), low(s - 1))       as far as it moves towards it in the 0.9 s of a step
//   high(s) = max(sent(s), high(s - 1))      that must have rested
#ifndef DRYCRANK_DIAGNOSE_SLOW_CAM_H_
#define DRYCRANK_DIAGNOSE_SLOW_CAM_H_

#include <span>

#include "diagnose/reading.h"

namespace drycrank::diagnose {

struct AdvanceRange {
  double low = 0, high = 0;  // crank degrees

  bool IsKnown() const { return low == high; }
};

// Of the phaser that follows this stimulus, at the end of situation `s`.
AdvanceRange SlowAdvance(std::span<const Situation> situations, int stimulus, std::size_t s,
                         double deg_per_s);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_SLOW_CAM_H_
