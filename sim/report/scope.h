// SPDX-License-Identifier: Apache-2.0
//
// The oscilloscope picture: channels one below the other on one time axis, each with a scale of its
// own, logic channels as levels, and marked instants as dotted lines through all of them.
#ifndef DRYCRANK_REPORT_SCOPE_H_
#define DRYCRANK_REPORT_SCOPE_H_

#include <string>
#include <utility>
#include <vector>

#include "report/report.h"
#include "report/svg.h"

namespace drycrank::report {

// The points of a channel between begin and end. A level is carried in from before and on to the
// end; a broken line is cut where it crosses the two instants.
std::vector<std::pair<TimeNs, double>> Clipped(const ScopeChannel& channel, TimeNs begin_ns,
                                               TimeNs end_ns);

// A sentence instead of a drawing when the picture spans no time or has no channel.
Markup SvgScope(const ScopePicture& picture);
// REQUIRES: a span of time and a channel.
Drawing DrawScope(const ScopePicture& picture);

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_SCOPE_H_
