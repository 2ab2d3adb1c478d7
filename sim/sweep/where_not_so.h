// SPDX-License-Identifier: Apache-2.0
//
// Lines of a file of what a display showed that do not say what must be shown, each with its place,
// and the place of what must be:
//
//   out/accepted.csv:31:1: brake_fluid, after the warning: lamp dark; readouts.yaml:12:3: must be brake
#ifndef DRYCRANK_SWEEP_WHERE_NOT_SO_H_
#define DRYCRANK_SWEEP_WHERE_NOT_SO_H_

#include <string>
#include <vector>

#include "profile/bench.h"
#include "sweep/compare_shown.h"

namespace drycrank::sweep {

// Of the readouts that were judged otherwise, some lines, and how many more there are. `file` is where
// `showed` was read. Of two kinds of witness: none.
std::vector<std::string> WhereNotSo(const std::string& file, const WhatItShowed& showed,
                                    const WhatItShowed& required,
                                    const std::vector<profile::Readout>& readouts,
                                    const Comparison& judged);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_WHERE_NOT_SO_H_
