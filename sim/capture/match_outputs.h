// SPDX-License-Identifier: Apache-2.0
//
// Coils and injectors against the crank of the same capture: at which degree each ends, how long it
// is on, whose place in the firing order it has, how many are missing or too many.
#ifndef DRYCRANK_CAPTURE_MATCH_OUTPUTS_H_
#define DRYCRANK_CAPTURE_MATCH_OUTPUTS_H_

#include "capture/match_cams.h"

namespace drycrank::capture {

struct OutputsMatch {
  std::vector<OutputMatch> outputs;
  std::optional<double> coils_late_deg;  // what all coils have in common, against the bench
  double coils_uncertain_deg = 0;
  // Of trailing coils, against where they are due behind coils that are right.
  std::optional<double> trailing_late_deg;
  std::optional<double> injectors_late_deg;
  // Of two alone: each would have the other's place, were nothing else off.
  bool coils_as_exchanged = false, injectors_as_exchanged = false;
  bool coils_once_a_cycle = false;  // so that they tell the two turns of a cycle apart
  bool advance_known = false;       // so that coils have a degree at which they are due
};

// Ignition before top dead centre that is due: as fixed, as designed, as told; nothing: not known.
std::optional<double> AdvanceOf(const profile::Bench& bench, const MatchOptions& options);

// How far trailing coils are due behind the others: as designed, as told; 0: not known.
double TrailingDegOf(const profile::Bench& bench);

OutputsMatch MatchOutputs(const profile::Bench& bench, const std::vector<CapturedChannel>& channels,
                          const CrankMatch& crank, const CycleZero& zero, double step_deg,
                          const MatchOptions& options);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_MATCH_OUTPUTS_H_
