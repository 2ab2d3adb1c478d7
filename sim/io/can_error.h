// SPDX-License-Identifier: Apache-2.0
//
// What an error report of a SocketCAN interface means to us. Classes and controller states:
// linux/can/error.h. Lost arbitration is part of a working bus and means nothing.
#ifndef DRYCRANK_IO_CAN_ERROR_H_
#define DRYCRANK_IO_CAN_ERROR_H_

#include <cstddef>
#include <span>

#include "bus/can_bus.h"
#include "bus/frame.h"

namespace drycrank::io {

// The events this report stands for, states last; the end of a bus-off is kUp.
// REQUIRES: report.error.
class ErrorEvents {
 public:
  explicit ErrorEvents(const bus::Frame& report);
  std::span<const bus::BusEvent> events() const { return {events_, count_}; }

 private:
  void Add(bool condition, bus::BusEvent event) {
    if (condition) events_[count_++] = event;
  }
  bus::BusEvent events_[10] = {};
  std::size_t count_ = 0;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_CAN_ERROR_H_
