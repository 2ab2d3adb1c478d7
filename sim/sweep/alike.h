// SPDX-License-Identifier: Apache-2.0
//
// Which facts of two results are about the same thing, and which only one of them has. Part of
// compare_shown.h.
#ifndef DRYCRANK_SWEEP_ALIKE_H_
#define DRYCRANK_SWEEP_ALIKE_H_

#include <map>
#include <string>
#include <vector>

#include "sweep/what_it_showed.h"

namespace drycrank::sweep {

// A person counts seconds to this, ours, no source: nearer is the same.
inline constexpr double kCountedS = 1;

inline bool IsPoint(const ShownFact& f) { return f.step == Step::kUp || f.step == Step::kDown; }
// Facts of one kind have one place each: limits whatever they are, a point by what was sent,
// and by its question where several sent the same.
std::string KeyOf(const ShownFact& fact);

using ByKey = std::map<std::string, const ShownFact*>;
using ByReadout = std::map<std::string, ByKey>;
ByReadout Sorted(const WhatItShowed& showed);

// What stands in `showed` and was not asked in `other`.
WhatItShowed OnlyIn(const WhatItShowed& showed, const WhatItShowed& other);
// Of one readout, in words: "3 points, lamp test". A limit's end that only the limit brings is
// none. Empty: nothing.
std::string NotAskedWords(const ByKey& was, const ByKey& now);

// Where a person counted seconds in either: times of `now` that are as near as that to those of
// `was` become them.
void TakeCountedAsSame(const WhatItShowed& was, WhatItShowed& now);
// Where one of the two is asked and counted only the lit segments of a bar, "8", and the other says
// "8 of 20": what `now` says becomes that of `was`. Another count, or a number of a display, stays.
void TakeLitAsSame(const WhatItShowed& was, WhatItShowed& now);
// Where an earlier version has laid a person's questions down by their values alone: so in `now`.
void TakeQuestionsAsBefore(const WhatItShowed& was, WhatItShowed& now);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_ALIKE_H_
