// SPDX-License-Identifier: Apache-2.0
//
// Puts what people saw beside what the bus showed: answers become expectations that are met or
// failed, and every circuit that nothing judged gets its reason: needs the meter, not fitted, not
// asked.
#ifndef DRYCRANK_STUDY_WALK_ANSWERS_H_
#define DRYCRANK_STUDY_WALK_ANSWERS_H_

#include <functional>
#include <string>
#include <vector>

#include "check/coverage.h"
#include "profile/answers.h"
#include "profile/scenario_file.h"
#include "report/report.h"
#include "study/capture.h"
#include "walk/walk.h"

namespace drycrank::study {

// What is asked once it is known which circuits nothing has shown; what is answered then.
using AskWhatIsLeft =
    std::function<std::vector<profile::GivenAnswer>(const std::vector<check::CircuitCoverage>&)>;

// REQUIRES: report.scenario == &scenario, the walk's own, and its verdicts are there. Appends to
// both; coverage is reckoned anew.
void AddAnswers(const walk::Walk& walk, const std::vector<profile::GivenAnswer>& answers,
                const std::vector<Seen>& seen, profile::Scenario& scenario, report::Report& report,
                const AskWhatIsLeft& ask_what_is_left = {});

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_WALK_ANSWERS_H_
