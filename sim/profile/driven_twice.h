// SPDX-License-Identifier: Apache-2.0
//
// Two outputs of one bench cannot have the same piece of hardware: each would open it, and one of them
// would take the other's answers, or be refused when the run begins.
//
//   core           line                 gpio           chip and line, the stop line too
//   sound          the card             dac, potentiometer   device and channel
//   supply         host and port        canopen        bus and node, that of this computer too
#ifndef DRYCRANK_PROFILE_DRIVEN_TWICE_H_
#define DRYCRANK_PROFILE_DRIVEN_TWICE_H_

#include "profile/output_device.h"
#include "types/diagnostic.h"

namespace drycrank::profile {

// What the outputs of a bench have in common, each at the place of the later, with that of the earlier.
Diagnostics DrivenTwice(const std::vector<OutputDevice>& outputs);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_DRIVEN_TWICE_H_
