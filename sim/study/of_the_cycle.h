// SPDX-License-Identifier: Apache-2.0
//
// Which expectations are about crank, cam, sparks or injection: what a picture of one cycle shows,
// and what a controller that was told wrong fails. And which ask for what it was not told to do.
#ifndef DRYCRANK_STUDY_OF_THE_CYCLE_H_
#define DRYCRANK_STUDY_OF_THE_CYCLE_H_

#include <span>

#include "check/checker.h"
#include "profile/bench.h"
#include "profile/scenario_file.h"

namespace drycrank::study {

bool IsOfTheCycle(const profile::Bench& bench, const profile::Expectation& expectation);
// Did any of them fail, or come to nothing?
bool FailedOfTheCycle(const profile::Bench& bench, const profile::Scenario& scenario,
                      std::span<const check::Verdict> verdicts);

// Coils or injectors that the controller has not been told to fire stay silent on a bench without
// any fault: trailing coils without trailing_deg, injectors that are to inject for no time.
bool AsksForWhatIsNotTold(const profile::Controller& controller,
                          const profile::ExpectationKind& kind);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_OF_THE_CYCLE_H_
