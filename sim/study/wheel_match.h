// SPDX-License-Identifier: Apache-2.0
//
// Which edge of a cycle is which of a wheel's, and what is to be said of them all.
#ifndef DRYCRANK_STUDY_WHEEL_MATCH_H_
#define DRYCRANK_STUDY_WHEEL_MATCH_H_

#include <utility>
#include <vector>

#include "check/edge_places.h"
#include "report/cycle.h"

namespace drycrank::study {

// Fills due, extra_deg and words of the row. `due` ascending, `seen` degrees in the cycle and the
// level from there on; `period_deg` after which the wheel is the same.
void MatchWheel(const std::vector<check::BuiltEdge>& due,
                const std::vector<std::pair<double, bool>>& seen, double cycle_deg,
                double period_deg, report::CycleRow& row);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_WHEEL_MATCH_H_
