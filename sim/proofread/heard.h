// SPDX-License-Identifier: Apache-2.0
//
// Buses whose wires, as they are drawn, carry nothing: a run would take them at their word.
#ifndef DRYCRANK_PROOFREAD_HEARD_H_
#define DRYCRANK_PROOFREAD_HEARD_H_

#include "profile/bench.h"
#include "types/diagnostic.h"

namespace drycrank::proofread {

// One for a display that sends there and is no node by that name. One for the controller, where it sends on a bus with nodes and does not reach the computer; and one
// for a display that is dark, not heard, or does not hear the controller.
Diagnostics NotHeard(const profile::Bench& bench);

}  // namespace drycrank::proofread

#endif  // DRYCRANK_PROOFREAD_HEARD_H_
