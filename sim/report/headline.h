// SPDX-License-Identifier: Apache-2.0
//
// The first line of a report: the worst truth, in this order.
//
//   failed      an expectation failed
//   stopped     ended from outside: the rest was not judged
//   nothing     nothing was expected
//   not seen    something could not be observed: an interface failed
//   not ready   a walk, or real parts: a circuit is neither proven nor signed over
//   ready       real parts, and every circuit is
//   as drawn    stand-ins: the file is right with itself; nothing real was judged
#ifndef DRYCRANK_REPORT_HEADLINE_H_
#define DRYCRANK_REPORT_HEADLINE_H_

#include <string>

#include "report/report.h"
#include "report/summary.h"

namespace drycrank::report {

enum class Standing { kFailed, kStopped, kNothing, kNotSeen, kNotReady, kReady, kAsDrawn };

Standing StandingOf(const Report& report);
// "NOT READY: 4 circuits not shown; all 26 expectations met."
std::string Headline(const Report& report);
// Its symbol and colour: green is for a bench that is ready, or a file that is right, alone.
Mark HeadlineMark(const Report& report);
// Were real parts judged, both controller and what drives it? Says so of the rest.
// Of a real controller that was not heard at all, what to look at; else empty.
std::string NothingCame(const Report& report);
std::string WhatWasJudged(const Report& report);

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_HEADLINE_H_
