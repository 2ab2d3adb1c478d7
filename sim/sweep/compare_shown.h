// SPDX-License-Identifier: Apache-2.0
//
// Two results of a display compared, in sentences that a person can sign: what was shown before,
// and what is shown now. Each sentence is about one readout and says both.
//
//   coolant: warning now comes above 107 °C, was 110 °C
//   nothing else changed: 26 readouts and 1042 points identical
#ifndef DRYCRANK_SWEEP_COMPARE_SHOWN_H_
#define DRYCRANK_SWEEP_COMPARE_SHOWN_H_

#include <cstddef>
#include <string>
#include <vector>

#include "sweep/what_it_showed.h"

namespace drycrank::sweep {

enum class ChangeKind {
  kLost,      // it is not there any more
  kGained,    // it was not there
  kNotAsked,  // one of the two did not look at it
  kPage,
  kSilent,  // its value does not arrive
  kUnit,
  kDecimals,
  kName,
  kValue,
  kLimit,
  kLamp,
  kState,
  kGone,       // how it shows that its value is gone, and after how long
  kPoints,     // looked at with other values
  kSwitching,  // when it goes on and off
};
const char* Name(ChangeKind kind);  // "limit"

struct ShownChange {
  std::string readout;
  ChangeKind kind = ChangeKind::kValue;
  std::string sentence;  // "warning now comes above 107 °C, was 110 °C"
};

struct Comparison {
  std::vector<ShownChange> changes;           // by readout
  std::vector<ShownChange> not_asked_before;  // no change either: only the later one looked at it
  std::vector<ShownChange> not_shown;  // the later one ended before it, or was not answered
  std::vector<std::string> notes;             // "the seed is 2, was 1": no change of what was shown
  std::size_t readouts_identical = 0, points_identical = 0;
  std::vector<std::string> readouts;  // all that either has
};

// What only `now` was asked is not compared, and listed in not_asked_before. A person counts
// seconds: times of a second's difference are the same then. Of two kinds of witness only what both
// could tell is compared, and a note says what was not.
Comparison Compare(const WhatItShowed& was, const WhatItShowed& now);
// The same against what must be shown: "warning comes above 107 °C, must be 110 °C"; here what only
// one of the two has is a difference.
Comparison CompareWithRequired(const WhatItShowed& required, const WhatItShowed& shown);

// Neither the same nor another: the two have nothing in common.
bool NothingCompared(const Comparison& comparison);
// All readouts but those that nobody looked at before, unless a change is said of them.
std::vector<std::string> Compared(const Comparison& comparison);
// "oil pressure" of "oil_pressure".
std::string Spoken(const std::string& readout);
// A line for each change, then what is identical, what was not asked before, then the notes.
std::string ComparisonText(const Comparison& comparison);
// {"format": "drycrank comparison", "format_version": 1, "changes": [{"readout", "kind",
// "sentence"}], "notes": [...],
//  "not_asked_before": [{"readout", "sentence"}], "not_shown": [the same], "readouts_identical", "points_identical"}
std::string ComparisonJson(const Comparison& comparison);
// One case for each readout; an error where something was not shown.
std::string ComparisonJunit(const Comparison& comparison, const std::string& suite);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_COMPARE_SHOWN_H_
