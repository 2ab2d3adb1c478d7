// SPDX-License-Identifier: Apache-2.0
//
// What outputs can give that move slowly and hold what they were told (io/line_output.h and those beside
// it). The limits are those of all such devices; what one of them has is known when it is open.
#ifndef DRYCRANK_OUTPUT_HELD_ABILITIES_H_
#define DRYCRANK_OUTPUT_HELD_ABILITIES_H_

#include "output/ability.h"

namespace drycrank::output {

// A switch of so much or more is an open one.
inline constexpr double kOpenSwitchOhm = 1000;

// A sensor that is not there leaves a contact open.
inline constexpr Ability kLineAbilities[] = {{.form = Form::kSwitch,
                                              .least = 0,
                                              .most = 1,
                                              .step = 1,
                                              .rate_hz = 50,
                                              .traits = {Trait::kUnplugged}}};
inline constexpr Ability kDacAbilities[] = {
    {.form = Form::kVoltage, .least = 0, .most = 60, .rate_hz = 100},
    {.form = Form::kFraction, .least = 0, .most = 1, .rate_hz = 100}};
inline constexpr Ability kPotentiometerAbilities[] = {
    {.form = Form::kResistance, .least = 0, .most = 1e6, .rate_hz = 100}};
inline constexpr Ability kSupplyAbilities[] = {
    {.form = Form::kSupply, .least = 0, .most = 60, .rate_hz = 5}};
inline constexpr Ability kCanNodeAbilities[] = {
    {.form = Form::kSwitch,
     .least = 0,
     .most = 1,
     .step = 1,
     .rate_hz = 50,
     .traits = {Trait::kUnplugged}},
    {.form = Form::kVoltage, .least = -60, .most = 60, .rate_hz = 50},
    {.form = Form::kFraction, .least = 0, .most = 1, .rate_hz = 50}};

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_HELD_ABILITIES_H_
