// SPDX-License-Identifier: Apache-2.0
//
// What each kind of output device of a bench can give. A kind of profile/output_device.h without its
// abilities does not compile.
#ifndef DRYCRANK_OUTPUT_ABILITIES_H_
#define DRYCRANK_OUTPUT_ABILITIES_H_

#include <span>

#include "output/ability.h"
#include "profile/output_device.h"

namespace drycrank::output {

KindAbility AbilityOf(const profile::DeviceKind& kind);
std::span<const KindAbility> AllKinds();

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_ABILITIES_H_
