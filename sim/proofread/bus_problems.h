// SPDX-License-Identifier: Apache-2.0
//
// A bench against itself: its buses must carry its messages in time for its gauges. In comes the
// load and response time of each message (bus/bus_timing.h), out come the problems, each with
// its place in the profile:
//
//   load > 1                            the bus is more than full
//   response time > stale_ms - period   the gauge would go stale
//   response time > period              the message is not out before its next value
//
// And a node of which one wire of the pair leads to another node and the other does not: ISO 11898-2 has
// two.
#ifndef DRYCRANK_PROOFREAD_BUS_PROBLEMS_H_
#define DRYCRANK_PROOFREAD_BUS_PROBLEMS_H_

#include <vector>

#include "bus/bus_timing.h"
#include "profile/bench.h"
#include "types/diagnostic.h"

namespace drycrank::proofread {

// REQUIRES: `timing` is TimingOf(bench).
[[nodiscard]]  // Buses with messages that have no period, and how many.
Diagnostics
NotCounted(const profile::Bench& bench, const std::vector<bus::BusTiming>& timing);
Diagnostics BusProblems(const profile::Bench& bench, const std::vector<bus::BusTiming>& timing);

}  // namespace drycrank::proofread

#endif  // DRYCRANK_PROOFREAD_BUS_PROBLEMS_H_
