// SPDX-License-Identifier: Apache-2.0
//
// Volts that no meter reads on a bench: of a slip of the finger, or of a meter that means its overload.
#ifndef DRYCRANK_TOOLS_MOST_VOLTS_H_
#define DRYCRANK_TOOLS_MOST_VOLTS_H_

#include <string>

#include "profile/bench.h"

namespace drycrank::tools {

// Empty, or what is wrong: more than 100 V, and than ten times the highest supply (common practice, no
// source; what a coil kicks back is over before a meter shows it).
std::string WhyNoVolts(const profile::Bench& bench, double volts);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_MOST_VOLTS_H_
