// SPDX-License-Identifier: Apache-2.0
//
// Why a circuit is not shown, the first of these that is true: on paper only; a real controller's wires
// are not driven; carried by another way; what would notice it failed, by another circuit or in another
// way, or was not observed; a fault of the scenario was in force all the time; the run ended before;
// nothing would notice it. A walk knows better of what it had to ask (Judged::reasons).
#ifndef DRYCRANK_STUDY_GAP_REASONS_H_
#define DRYCRANK_STUDY_GAP_REASONS_H_

#include <set>
#include <vector>

#include "check/coverage.h"
#include "study/breaks.h"
#include "study/circuits_shown.h"

namespace drycrank::study {

// Of one circuit: its breaks that nothing has shown, and the expectations that failed and that they
// would violate.
struct Unshown {
  std::vector<const Break*> breaks;
  std::set<int> failed;
};

// `circuits`: all, as they were weighed. Leaves what is proven or failed alone.
void ExplainGap(const Judged& judged, const std::vector<check::CircuitCoverage>& circuits,
                const Unshown& unshown, bool always_faulty, check::CircuitCoverage& circuit);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_GAP_REASONS_H_
