// SPDX-License-Identifier: Apache-2.0
//
// What a recording from elsewhere can answer. It has frames and times, and nothing of what was driven
// or which step it was. So of a scenario's expectations those are judged, over the whole of it, that
// are for the whole run, compare with no stimulus, and do not count from a step's begin.
#ifndef DRYCRANK_RECORD_BUS_ALONE_H_
#define DRYCRANK_RECORD_BUS_ALONE_H_

#include <string>

#include "profile/scenario_file.h"

namespace drycrank::record {

// Empty: frames alone answer it; else what else it needs: "needs to know what was driven".
std::string WhatElseItNeeds(const profile::Expectation& expectation);

// The same expectations in the same order, one step without an end; what frames do not answer is in
// a time that never comes.
profile::Scenario AsJudgedByFrames(const profile::Scenario& scenario);

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_BUS_ALONE_H_
