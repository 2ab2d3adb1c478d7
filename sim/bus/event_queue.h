// SPDX-License-Identifier: Apache-2.0
//
// Events of a bus that wait to be asked for. What already waits is not added again unless up or
// down came after it, so that a flood of error reports cannot fill the queue; how often it happened
// is in the counters. When nobody asks for very long, the oldest go: the last state is never lost.
#ifndef DRYCRANK_BUS_EVENT_QUEUE_H_
#define DRYCRANK_BUS_EVENT_QUEUE_H_

#include <bitset>
#include <optional>

#include "bus/can_bus.h"
#include "bus/ring.h"

namespace drycrank::bus {

class EventQueue {
 public:
  void Push(BusEvent event) {
    const auto kind = static_cast<std::size_t>(event);
    if (waiting_.test(kind)) return;
    if (IsState(event)) waiting_.reset();
    waiting_.set(kind);
    if (!events_.Push(event)) {
      events_.Pop();
      events_.Push(event);
    }
  }
  std::optional<BusEvent> Pop() {
    const auto event = events_.Pop();
    if (events_.empty()) waiting_.reset();
    return event;
  }

 private:
  static bool IsState(BusEvent event) {
    return event == BusEvent::kUp || event == BusEvent::kDown || event == BusEvent::kBusOff ||
           event == BusEvent::kSending || event == BusEvent::kNotArmed ||
           event == BusEvent::kArmed || event == BusEvent::kErrorActive;
  }

  Ring<BusEvent> events_{64};
  std::bitset<kBusEventKinds> waiting_;  // since the last change of state
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_EVENT_QUEUE_H_
