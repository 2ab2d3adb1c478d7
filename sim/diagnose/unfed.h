// SPDX-License-Identifier: Apache-2.0
//
// A controller that gets less than its min_supply_v: it gives no 5 V and pulls nothing up. What its
// pins have inside stays.
#ifndef DRYCRANK_DIAGNOSE_UNFED_H_
#define DRYCRANK_DIAGNOSE_UNFED_H_

#include <span>

#include "diagnose/reading.h"
#include "harness/harness.h"
#include "profile/bench.h"
#include "profile/fault.h"

namespace drycrank::diagnose {

void TakeControllerOff(profile::Bench& bench);
profile::Bench WithControllerOff(const profile::Bench& bench);
// Solved.
bool IsControllerFed(const profile::Bench& bench, const harness::Harness& harness);
// Volts at all nodes of a bench with faults, for a meter.
harness::Harness HarnessAsFed(const profile::Bench& bench, const Situation& situation,
                              std::span<const profile::Fault> faults);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_UNFED_H_
