// SPDX-License-Identifier: Apache-2.0
//
// Sentences about one readout beyond its values and limits: its lamp, a message that says that it
// has no value, and how it goes on and off. Part of compare_shown.h.
#ifndef DRYCRANK_SWEEP_COMPARE_STEPS_H_
#define DRYCRANK_SWEEP_COMPARE_STEPS_H_

#include <functional>
#include <string>
#include <utility>
#include <vector>

#include "sweep/compare_shown.h"

namespace drycrank::sweep {

using FactPair = std::pair<const ShownFact*, const ShownFact*>;  // was, now
using AddChange = std::function<void(ChangeKind, std::string)>;

// Of a fact for which nothing else has a sentence: all that differs in it.
std::string Otherwise(const ShownFact& was, const ShownFact& now);
void CompareLamps(const std::vector<FactPair>& pairs, const AddChange& add);
void CompareSteps(const std::vector<FactPair>& pairs, const AddChange& add);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_COMPARE_STEPS_H_
