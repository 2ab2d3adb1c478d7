// SPDX-License-Identifier: Apache-2.0
//
// What a node that distributes power cannot do, or nobody sees of it: a channel that no load of
// its can trip, a state that no message carries or can say, a trip that is over before its message
// comes, a load that two channels have.
#ifndef DRYCRANK_PROOFREAD_POWER_PROBLEMS_H_
#define DRYCRANK_PROOFREAD_POWER_PROBLEMS_H_

#include "profile/bench.h"
#include "types/diagnostic.h"

namespace drycrank::proofread {

Diagnostics PowerProblems(const profile::Bench& bench);

}  // namespace drycrank::proofread

#endif  // DRYCRANK_PROOFREAD_POWER_PROBLEMS_H_
