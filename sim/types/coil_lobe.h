// SPDX-License-Identifier: Apache-2.0
//
// How far a lobe of a coil's EMF reaches from its tooth edge, in the degrees of whatever it is given:
// into the air half the way to the nearer of the two neighbour edges; over the tooth on to its centre,
// where the flux is greatest and the EMF zero, but no more than kWidestReach times as far as into the
// air: farther in, a wide tooth's flux no longer changes.
//
//   tooth   ____|~~~~~~~~~~~~~~~~|____       up to 3 times as wide as the air: zero at its centre
//   emf       /\.                            wider: zero from begin + 1.5 times the air on, which is
//          __/   `-.________      ___        where a falling zero is seen
//                           `-. /
#ifndef DRYCRANK_TYPES_COIL_LOBE_H_
#define DRYCRANK_TYPES_COIL_LOBE_H_

#include <algorithm>

namespace drycrank {

inline constexpr double kWidestReach = 3;

struct LobeReach {
  double air_deg = 0;
  double tooth_deg = 0;
};

// Of an edge that has its neighbours so far before and after it, at a tooth of that width.
inline LobeReach LobeReachOf(double before_deg, double after_deg, double tooth_deg) {
  const double air_deg = std::min(before_deg, after_deg) / 2;
  return {air_deg, std::min(tooth_deg / 2, kWidestReach * air_deg)};
}

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_COIL_LOBE_H_
