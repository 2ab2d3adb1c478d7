// SPDX-License-Identifier: Apache-2.0
//
// When each cyclic message of a bus is sent first, for messages whose profile says nothing: spread
// over the period, so that they do not all ask for the bus at once. Two messages of periods T and U
// with phases a and b come closest to each other by
//
//   d = (a - b) mod g,  min(d, g - d)        g = greatest common divisor of T and U
//
// and each message in turn takes the phase, of 64 over its period, at which the closest of those
// placed before it is farthest away (the earliest of equals). It depends on nothing but the
// profile.
#ifndef DRYCRANK_PROFILE_SPREAD_PHASES_H_
#define DRYCRANK_PROFILE_SPREAD_PHASES_H_

#include <vector>

#include "profile/message.h"

namespace drycrank::profile {

inline constexpr double kPhaseNotGiven = -1;

// Sets phase_ms where it is kPhaseNotGiven; whole tenths of a millisecond.
void SpreadPhases(std::vector<Message>& messages);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_SPREAD_PHASES_H_
