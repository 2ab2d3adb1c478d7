// SPDX-License-Identifier: Apache-2.0
//
// Will the buses of a bench carry what their messages ask of them? Load and the worst response time
// of each message (response_time.h), on paper, before anything runs. Counted are the messages of
// the bench; what else a real vehicle sends is not known here.
#ifndef DRYCRANK_BUS_BUS_TIMING_H_
#define DRYCRANK_BUS_BUS_TIMING_H_

#include <optional>
#include <vector>

#include "profile/bench.h"
#include "types/diagnostic.h"
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

  bool misses() const { return !response_ns || *response_ns > limit_ns; }
};

struct BusTiming {
  double load = 0;                      // share of the bus's time at worst; 1 is full
  double least_load = 0;                // without a stuff bit
  std::vector<MessageTiming> messages;  // the most urgent first
};

// One per bus of the bench.
std::vector<BusTiming> TimingOf(const profile::Bench& bench);

// What will not work, in words, with its place in the profile: a bus that is more than full, a
// gauge that would go stale, a message that is not out before its next value.
[[nodiscard]] Diagnostics TimingProblems(const profile::Bench& bench,
                                         const std::vector<BusTiming>& timing);

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_BUS_TIMING_H_
