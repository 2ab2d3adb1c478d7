// SPDX-License-Identifier: Apache-2.0
//
// CSV (csv_shape.h): a column of times, in the unit that stands above it (s without one), or a rate that
// the reader is told; every other column a channel. A column of 0 and 1 alone is taken for a logic
// channel while it stays so.
#ifndef DRYCRANK_CAPTURE_CSV_TRACE_H_
#define DRYCRANK_CAPTURE_CSV_TRACE_H_

#include <string>

#include "capture/trace.h"

namespace drycrank::capture {

OpenedTrace OpenCsv(const std::string& path, const TraceHints& hints);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_CSV_TRACE_H_
