// SPDX-License-Identifier: Apache-2.0
//
// What the later of two results did not show of the earlier one: its sweep ended before it, nobody
// has answered, or the two have nothing in common. Part of compare_shown.h.
#ifndef DRYCRANK_SWEEP_NOT_SHOWN_H_
#define DRYCRANK_SWEEP_NOT_SHOWN_H_

#include "sweep/compare_shown.h"

namespace drycrank::sweep {

// REQUIRES: `out` has all changes. What of them is only that it was not looked at goes out.
void AddNotShown(const WhatItShowed& was, const WhatItShowed& now, Comparison& out);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_NOT_SHOWN_H_
