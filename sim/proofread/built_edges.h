// SPDX-License-Identifier: Apache-2.0
//
// Where in the cycle a trigger that is built gives the edges that a controller takes note of: those
// of one direction, of all that its pickup gives (check/edge_places.h). Angles are crank degrees in
// the cycle, ascending, [0, cycle).
#ifndef DRYCRANK_PROOFREAD_BUILT_EDGES_H_
#define DRYCRANK_PROOFREAD_BUILT_EDGES_H_

#include <vector>

#include "profile/bench.h"

namespace drycrank::proofread {

std::vector<double> BuiltEdgesDeg(const profile::Trigger& trigger, const profile::Engine& engine,
                                  profile::ActiveEdge edge, bool leads_reversed);

// The same edges, but for kSameEdgeDeg?
// Edges of a cycle of `own_deg`, as often as it comes in one of `cycle_deg`.
std::vector<double> OverCycle(std::vector<double> edges_deg, double own_deg, double cycle_deg);
bool SameEdges(const std::vector<double>& a_deg, const std::vector<double>& b_deg,
               double cycle_deg);
inline constexpr double kSameEdgeDeg = 0.1;  // common practice, no source

// Turned by `shift_deg`, does every edge still lie within the window of one?
bool FitsTurned(const std::vector<double>& edges_deg, double shift_deg, double window_deg,
                double cycle_deg);

// What a controller of this pickup should be told of wheel, edge and place. Of a Hall output the
// falling edge is taken, of a coil the one at the tooth's centre.
profile::TriggerChannel ShouldBeTold(const profile::Trigger& trigger, bool leads_reversed);

}  // namespace drycrank::proofread

#endif  // DRYCRANK_PROOFREAD_BUILT_EDGES_H_
