// SPDX-License-Identifier: Apache-2.0
//
// A protection as a fitter would say it.
#ifndef DRYCRANK_PROFILE_PROTECTION_WORDS_H_
#define DRYCRANK_PROFILE_PROTECTION_WORDS_H_

#include <string>

#include "profile/bench.h"
#include "profile/protection.h"

namespace drycrank::profile {

// "no sparks", "no more than 4000 r/min"
std::string ActionInWords(const Bench& bench, const Protection& protection);
// "no sparks while oil_pressure is below 150 kPa, from 1500 r/min on, after 500 ms"
std::string InWords(const Bench& bench, const Protection& protection);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_PROTECTION_WORDS_H_
