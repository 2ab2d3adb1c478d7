// SPDX-License-Identifier: Apache-2.0
//
// Rows that are missing in a file, in words: where, for how long, how many. What happened there
// nobody saw. And rows that stand twice at one time.
#ifndef DRYCRANK_CAPTURE_HOLES_H_
#define DRYCRANK_CAPTURE_HOLES_H_

#include <string>
#include <vector>

#include "capture/capture_levels.h"
#include "capture/read_capture.h"

namespace drycrank::capture {

// Of the first ones each, and of all that are left together. Empty: the rows are whole.
std::vector<std::string> HolesInWords(const ReadResult& capture);

// Where the first row stands that has the time of the one before, and how many there are.
// REQUIRES: there is one.
std::string RepeatsInWords(const TraceRepeats& repeats);

// The first hole within [from_ns, to_ns].
std::optional<Diagnostic> HoleWithin(const std::string& path, const CaptureLevels& levels,
                                     double from_ns, double to_ns);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_HOLES_H_
