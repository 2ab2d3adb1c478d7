// SPDX-License-Identifier: Apache-2.0
//
// What an error report of a SocketCAN interface means to us. Classes and controller states:
// linux/can/error.h.
#ifndef DRYCRANK_IO_CAN_ERROR_H_
#define DRYCRANK_IO_CAN_ERROR_H_

#include "bus/event_queue.h"
#include "bus/frame.h"

namespace drycrank::io {

// Adds the events this report stands for: bus-off, error-passive, receive overrun, and up again
// after a bus-off. Other reports (lost arbitration, single bit errors, ...) are part of a working
// bus. REQUIRES: report.error.
void AddEventsOf(const bus::Frame& report, bus::EventQueue& events);

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_CAN_ERROR_H_
