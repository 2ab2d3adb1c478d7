// SPDX-License-Identifier: Apache-2.0
//
// One key in words: what may be written, within which limits, what it is when left out. Internal to
// profile/.
#ifndef DRYCRANK_PROFILE_KEY_WORDS_H_
#define DRYCRANK_PROFILE_KEY_WORDS_H_

#include <string>

#include "profile/sections.h"

namespace drycrank::profile {

// "Ω", "of the stimulus"; empty: none.
std::string UnitInWords(const Value& value);
// "1 … 3600000", "crank, cam", "a terminal", "list of names of circuits".
std::string RangeInWords(const Value& value);
// "1000", "its name", "needed"; empty: nothing is there.
std::string DefaultInWords(const KeyInfo& info);
// "kind: ntc", "ramp"; empty: always.
std::string WhenInWords(const Part& part);
// "1 … 3600000 ms; default 1000".
std::string InWords(const KeyInfo& info);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KEY_WORDS_H_
