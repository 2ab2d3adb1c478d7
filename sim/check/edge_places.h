// SPDX-License-Identifier: Apache-2.0
//
// Where in the cycle a trigger that is built makes its pickup's output change, as an input sees it.
//
//   Hall    the output falls where metal comes in front (low_at_tooth) and rises where it ends, or
//           the other way round
//   coil    plus is positive around a tooth's begin, negative around its end. The voltage falls
//           back to zero where the positive lobe ends, at the tooth's centre if the tooth is not
//           wider than the gap beside it; it rises back to zero behind the tooth. With the leads
//           reversed, the other way round. The other crossings of a coil depend on speed: they are
//           none of these.
#ifndef DRYCRANK_CHECK_EDGE_PLACES_H_
#define DRYCRANK_CHECK_EDGE_PLACES_H_

#include <vector>

#include "profile/bench.h"
#include "profile/triggers.h"

namespace drycrank::check {

struct BuiltEdge {
  double deg = 0;      // of the crank in the wheel's cycle (WheelCycleDeg), at advance 0
  bool high = false;   // the output's level from here on
  bool begin = false;  // of a tooth's begin; else of its end
  int tooth = 0;       // from 1
};

// A cycle of the engine, or where the wheel turns once in more than that, a turn of it: crank
// degrees.
double WheelCycleDeg(const profile::Trigger& trigger, const profile::Engine& engine);

// Ascending. `leads_reversed`: of a coil.
std::vector<BuiltEdge> BuiltEdges(const profile::Trigger& trigger, const profile::Engine& engine,
                                  bool leads_reversed);

// Which trigger is wired to this input of the controller, as drawn; -1: none.
int TriggerAt(const profile::Bench& bench, const profile::TriggerChannel& input);
// Is the coil's minus, as drawn, where the input's plus is?
bool LeadsReversed(const profile::Bench& bench, const profile::Trigger& trigger,
                   const profile::TriggerChannel& input);

}  // namespace drycrank::check

#endif  // DRYCRANK_CHECK_EDGE_PLACES_H_
