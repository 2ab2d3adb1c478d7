// SPDX-License-Identifier: Apache-2.0
//
// A wheel's teeth as a person counts them: an even row of places, some of them without a tooth, or
// teeth of their own widths and distances.
#ifndef DRYCRANK_PROOFREAD_WHEEL_WORDS_H_
#define DRYCRANK_PROOFREAD_WHEEL_WORDS_H_

#include <optional>
#include <string>
#include <vector>

#include "profile/triggers.h"

namespace drycrank::proofread {

// Begins of teeth on an even row. Tooth k (from 1) begins (k - 1) * 360 / places degrees behind the
// first tooth.
struct EvenRow {
  int places = 0;
  std::vector<int> missing;  // ascending, from 1
};

// Nothing when the teeth do not stand on one, or more places would be empty than filled.
std::optional<EvenRow> EvenRowOf(const profile::Wheel& wheel);

// "58 teeth on 60 places, 59 and 60 missing"; "12 even teeth"; "4 teeth at 0-20, 70-130, ... deg".
std::string WheelWords(const profile::Wheel& wheel);

}  // namespace drycrank::proofread

#endif  // DRYCRANK_PROOFREAD_WHEEL_WORDS_H_
