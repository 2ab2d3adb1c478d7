// SPDX-License-Identifier: Apache-2.0
//
// A controller of which nothing at all is heard on a bus: no value of it can be right then, and what
// a display shows of it is no failure of the display. The one thing to look at first.
#ifndef DRYCRANK_REPORT_MUTE_CONTROLLER_H_
#define DRYCRANK_REPORT_MUTE_CONTROLLER_H_

#include "report/report.h"

namespace drycrank::report {

// Does the expectation wait for a message of the controller that never came, and has nothing been
// judged of what else the controller sends on that bus?
bool IsSilence(const Report& report, const check::Verdict& verdict);
bool AnySilence(const Report& report);

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_MUTE_CONTROLLER_H_
