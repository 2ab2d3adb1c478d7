// SPDX-License-Identifier: Apache-2.0
//
// Puts what people saw beside what the bus showed: answers become expectations that are met or
// failed, and every circuit that nothing judged gets its reason: not provable here, not fitted, not
// asked.
#ifndef DRYCRANK_RUN_WALK_ANSWERS_H_
#define DRYCRANK_RUN_WALK_ANSWERS_H_

#include <string>
#include <vector>

#include "profile/answers.h"
#include "profile/scenario_file.h"
#include "report/report.h"
#include "run/capture.h"
#include "scenario/walk.h"

namespace drycrank::run {

// REQUIRES: report.scenario == &scenario, the walk's own, and its verdicts are there. Appends to
// both; coverage is reckoned anew.
void AddAnswers(const scenario::Walk& walk, const std::vector<profile::GivenAnswer>& answers,
                const std::vector<Seen>& seen, profile::Scenario& scenario, report::Report& report);

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_WALK_ANSWERS_H_
