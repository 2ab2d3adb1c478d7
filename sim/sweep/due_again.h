// SPDX-License-Identifier: Apache-2.0
//
// What must be shown to a person or on pictures, where only the facts are left and not the answers:
// for each fact of the result what is due at it, without what the fact does not tell. A fact that
// no question asks is not in it.
#ifndef DRYCRANK_SWEEP_DUE_AGAIN_H_
#define DRYCRANK_SWEEP_DUE_AGAIN_H_

#include <vector>

#include "profile/bench.h"
#include "sweep/what_it_showed.h"

namespace drycrank::sweep {

// Sorted.
std::vector<ShownFact> DueAgain(const profile::Bench& bench, const std::vector<ShownFact>& facts);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_DUE_AGAIN_H_
