// SPDX-License-Identifier: Apache-2.0
//
// Single edits of what has been set in a display: what a person mistypes in one place. Those that
// need no measurement are the usual ones (scale ten times too large, bytes the other way round, the
// neighbour's signal); the others take their number from what was shown, where one number can
// explain it: a limit, an end, a scale, an offset, a time.
#ifndef DRYCRANK_SWEEP_EDITS_H_
#define DRYCRANK_SWEEP_EDITS_H_

#include <string>
#include <vector>

#include "profile/bench.h"
#include "sweep/what_it_showed.h"

namespace drycrank::sweep {

struct Edit {
  std::string setting;                // "scale of engine_temps.coolant"
  std::string is, becomes;            // "1", "10"
  std::vector<std::string> readouts;  // those that it changes
  profile::Display display = {};      // with the edit
  bool is_unlikely = false;           // said after all others: nobody would type that
  bool is_one_of_many = false;        // of those of one setting that explain it the first is enough
};

// Edits that change how `readout` is shown, the likelier ones first. `facts` are all that were
// observed of it. REQUIRES: bench.display.
std::vector<Edit> EditsFor(const profile::Bench& bench, const profile::Readout& readout,
                           const std::vector<ShownFact>& facts);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_EDITS_H_
