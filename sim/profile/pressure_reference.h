// SPDX-License-Identifier: Apache-2.0
//
// Against what a pressure is measured: vacuum, or the air around.
#ifndef DRYCRANK_PROFILE_PRESSURE_REFERENCE_H_
#define DRYCRANK_PROFILE_PRESSURE_REFERENCE_H_

namespace drycrank::profile {

enum class PressureReference { kAbsolute, kGauge };

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_PRESSURE_REFERENCE_H_
