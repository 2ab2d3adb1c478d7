// SPDX-License-Identifier: Apache-2.0
//
// Faults of a trigger's wheel, its sensor and the cam it looks at, by the table in fault.h: the
// parameters of each kind. A size that changes nothing is refused, and so is what this trigger has not.
#ifndef DRYCRANK_PROFILE_LOAD_WHEEL_FAULT_H_
#define DRYCRANK_PROFILE_LOAD_WHEEL_FAULT_H_

#include "profile/load_scenario.h"

namespace drycrank::profile {

void ReadWheelFault(const Bench& bench, Rows& rows, const Ref& at, fault::WheelOffset& kind);
void ReadWheelFault(const Bench& bench, Rows& rows, const Ref& at, fault::ToothMissing& kind);
void ReadWheelFault(const Bench& bench, Rows& rows, const Ref& at, fault::ExtraTooth& kind);
void ReadWheelFault(const Bench& bench, Rows& rows, const Ref& at, fault::WheelRunout& kind);
void ReadWheelFault(const Bench& bench, Rows& rows, const Ref& at, fault::PickupInverted& kind);
void ReadWheelFault(const Bench& bench, Rows& rows, const Ref& at, fault::PickupStrength& kind);
void ReadWheelFault(const Bench& bench, Rows& rows, const Ref& at, fault::ElectricalNoise& kind);
void ReadWheelFault(const Bench& bench, Rows& rows, const Ref& at, fault::CamStuck& kind);
void ReadWheelFault(const Bench& bench, Rows& rows, const Ref& at, fault::CamSlow& kind);

template <class Kind>
concept WheelKind = requires(const Bench& bench, Rows& rows, const Ref& at, Kind& kind) {
  ReadWheelFault(bench, rows, at, kind);
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_LOAD_WHEEL_FAULT_H_
