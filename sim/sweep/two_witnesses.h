// SPDX-License-Identifier: Apache-2.0
//
// Two results seen by two kinds of witness (stand-in, echo, person, pictures), each brought down to
// what both could tell:
//   a fact that only one of them has, and of a readout a field that is empty in all facts of one
//   the colour of a lamp that the other knows as lit, and how fast it blinks
//   digits and words where the other tells a number; times that the other cannot measure
//   a state between limit and end, where it depends on what was sent before and people are asked
//   in another order; so is a lamp that latches, while the value is gone
// Part of compare_shown.h.
#ifndef DRYCRANK_SWEEP_TWO_WITNESSES_H_
#define DRYCRANK_SWEEP_TWO_WITNESSES_H_

#include <string>
#include <vector>

#include "sweep/what_it_showed.h"

namespace drycrank::sweep {

// Seen by a person or on pictures: six points, not a sweep.
bool IsAsked(const WhatItShowed& showed);
// Both say by what kind of witness, and it is not the same.
bool AreOfTwoKinds(const WhatItShowed& a, const WhatItShowed& b);

// Nothing is done where the two are of one kind, or of one it is not said. Otherwise takes out of
// both what one of them could not tell. A line for each group of readouts: "coolant, oil: not
// compared, for one of the two did not tell it: unit, 30 points, at power on".
std::vector<std::string> TakeWhatBothTell(WhatItShowed& was, WhatItShowed& now);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_TWO_WITNESSES_H_
