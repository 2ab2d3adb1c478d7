// SPDX-License-Identifier: Apache-2.0
//
// Signs of broken bus wires that no message carries: what the error counters of a node come to, and
// what a display shows to whoever looks at it.
#ifndef DRYCRANK_DIAGNOSE_BUS_SIGNS_H_
#define DRYCRANK_DIAGNOSE_BUS_SIGNS_H_

#include <span>
#include <string>
#include <vector>

#include "plant/hearing.h"
#include "profile/bench.h"
#include "profile/fault.h"

namespace drycrank::diagnose {

// "controller on bus vehicle: error passive: nobody acknowledges what it sends", for each that sends
// and is not error active with these faults. Its own tool shows that, no message does.
std::vector<std::string> ErrorStatesWith(const profile::Bench& bench,
                                         std::span<const profile::Fault> faults);

// Values; dashes in their place (it has its supply and hears no controller); or nothing.
enum class DisplayLook { kValues, kDashes, kDark };
const char* Name(DisplayLook look);  // "dashes"
// By the buses on which the display is a node; `healthy`: without faults.
DisplayLook LookBy(const profile::Bench& bench, std::span<const plant::Hearing> healthy,
                   std::span<const plant::Hearing> hearing);
DisplayLook LookWith(const profile::Bench& bench, std::span<const profile::Fault> faults);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_BUS_SIGNS_H_
