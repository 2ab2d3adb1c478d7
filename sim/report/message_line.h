// SPDX-License-Identifier: Apache-2.0
//
// What became of one message of a bus: its worst response time on paper and as measured, and how
// late it left. Negative times: not known.
#ifndef DRYCRANK_REPORT_MESSAGE_LINE_H_
#define DRYCRANK_REPORT_MESSAGE_LINE_H_

#include <cstdint>
#include <string>

#include "types/time.h"

namespace drycrank::report {

struct MessageLine {
  std::string bus, message;
  TimeNs period_ns = 0;  // 0: sent when a value changes
  std::uint64_t sent = 0;
  std::uint64_t replaced = 0;        // overtaken by a newer value before they were on the bus
  std::uint64_t skipped = 0;         // left out: the next was due already
  TimeNs response_on_paper_ns = -1;  // no bound, or not looked at
  TimeNs response_measured_ns = -1;  // buses inside the process: from due to received
  // Buses with an interface: from due to handed over; half, 99 % and 99.9 % were not later.
  TimeNs late_p50_ns = -1, late_p99_ns = -1, late_p999_ns = -1, late_worst_ns = -1;
};

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_MESSAGE_LINE_H_
