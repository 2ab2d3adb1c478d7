// SPDX-License-Identifier: Apache-2.0
//
// How much the speed may swing while cranking before a controller loses its place, from what it was
// told alone. While cranking the time up to crank angle A, in degrees of a steady crank, is
//   m(A) = A + r/N sin(N A)      N compressions a turn, r the ripple (engine/motion.h)
// so the time from one edge to the next is a difference of two m, and the ratio of two such
// intervals one after the other is what the controller measures. It keeps its place as long as each
// ratio over the one of a steady crank lies within 1/(1 + t) ... 1 + t, t its ratio_tolerance; and,
// where its input adapts, as long as each lobe arms it (arming.h): lobes are low where the crank is
// slow.
#ifndef DRYCRANK_PROOFREAD_RIPPLE_H_
#define DRYCRANK_PROOFREAD_RIPPLE_H_

#include "profile/bench.h"

namespace drycrank::proofread {

// What a steady crank would have turned, in the time that one with this ripple takes up to `deg`.
double SteadyDeg(const profile::Engine& engine, double deg, double ripple);

// Of r and of the tolerance that r takes: the farthest ratio in a cycle, as a factor, 1 or more.
// `deg`: the edge at which it comes, in the cycle.
struct FarthestRatio {
  double factor = 1;
  double deg = 0;
};
// REQUIRES: bench.controller with triggers, the primary wheel with teeth
FarthestRatio FarthestAt(const profile::Bench& bench, double ripple);

inline constexpr double kMostRipple = 0.9;
// The greatest ripple with which it keeps its place, to 0.001; kMostRipple: with any that can be
// put in.
double RippleBorne(const profile::Bench& bench);

// Proofread's part: says it, and complains where the engine has more.
struct Compared;
void CompareRipple(const profile::Bench& bench, Compared& out);

}  // namespace drycrank::proofread

#endif  // DRYCRANK_PROOFREAD_RIPPLE_H_
