// SPDX-License-Identifier: Apache-2.0
//
// Events of a bus that wait to be asked for. Trouble that repeats while nobody asks is one event,
// so that a flood cannot fill the queue; how often it happened is in the counters.
#ifndef DRYCRANK_BUS_EVENT_QUEUE_H_
#define DRYCRANK_BUS_EVENT_QUEUE_H_

#include <optional>

#include "bus/can_bus.h"
#include "bus/ring.h"

namespace drycrank::bus {

class EventQueue {
 public:
  void Push(BusEvent event) {
    if (!events_.empty() && events_.Back() == event) return;
    events_.Push(event);
  }
  std::optional<BusEvent> Pop() { return events_.Pop(); }

 private:
  Ring<BusEvent> events_{64};
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_EVENT_QUEUE_H_
