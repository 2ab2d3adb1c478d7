// SPDX-License-Identifier: Apache-2.0
//
// Load of each bus of a bench and worst response time of each message (response_time.h), on paper,
// before anything runs. Only the messages of the bench are counted: a real vehicle may send more.
// proofread/bus_problems.h says which of them come too late.
#ifndef DRYCRANK_BUS_BUS_TIMING_H_
#define DRYCRANK_BUS_BUS_TIMING_H_

#include <optional>
#include <vector>

#include "profile/bench.h"
#include "types/time.h"

namespace drycrank::bus {

struct MessageTiming {
  int message = 0;                    // index in the bus
  TimeNs period_ns = 0;               // an event message: how often its values are looked at
  TimeNs shortest_ns = 0;             // on the wire without a stuff bit
  TimeNs longest_ns = 0;              // with as many as can be
  std::optional<TimeNs> response_ns;  // from due to sent; nothing: no bound, the bus is full
  // It must have been sent so soon after it was due: before its next value is due, or, when a gauge
  // shows it, before the gauge goes stale since the frame before (stale_ms - period_ms).
  TimeNs limit_ns = 0;
  int gauge = -1;  // the display's gauge that sets the limit; -1: the period does

  bool is_counted =
      true;  // false: a message without a period, of which nobody says how often it comes
  bool misses() const { return is_counted && (!response_ns || *response_ns > limit_ns); }
};

struct BusTiming {
  double load = 0;                      // share of the bus's time at worst; 1 is full
  double least_load = 0;                // without a stuff bit
  std::vector<MessageTiming> messages;  // the most urgent first
};

// One per bus of the bench.
std::vector<BusTiming> TimingOf(const profile::Bench& bench);
// The same with messages that have a period alone: the others take no time, and are in nobody's way.
std::vector<BusTiming> PeriodicTimingOf(const profile::Bench& bench);

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_BUS_TIMING_H_
