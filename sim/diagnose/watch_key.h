// SPDX-License-Identifier: Apache-2.0
//
// By what the answers of watch.h are kept: what an input sees, rounded to what a controller tells
// apart, and the faults that are in.
#ifndef DRYCRANK_DIAGNOSE_WATCH_KEY_H_
#define DRYCRANK_DIAGNOSE_WATCH_KEY_H_

#include <algorithm>
#include <cmath>
#include <vector>

#include "diagnose/electrical.h"
#include "profile/bench.h"
#include "profile/fault.h"

namespace drycrank::diagnose {

inline constexpr double kKeyV = 0.02, kKeyGain = 0.02;

inline int Rounded(double value, double step) {
  return static_cast<int>(std::lround(std::clamp(value / step, -1e6, 1e6)));
}

// A device that moves an input by less is not felt there.
bool IsFelt(const Reach& reach, const Electrical& electrical, int input);
// On which side of a comparator's thresholds: 0 below both, 2 above both.
int SideOf(const profile::TriggerChannel& channel, double v);
// Does all that comes to this input stay on one side of its comparator's thresholds? No edge is made
// of it, whatever the level: an input shorted to ground is as one shorted to the supply.
bool HasNoEdges(const profile::TriggerChannel& channel, int input, const Electrical& electrical);
// All that tells this fault from another, where it concerns a trigger, or a table that is read.
void AddFault(const profile::Fault& fault, const profile::Bench& bench, bool reads_tables,
              std::vector<int>& key);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_WATCH_KEY_H_
