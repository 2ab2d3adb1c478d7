// SPDX-License-Identifier: Apache-2.0
#include "io/can_error.h"

#include <linux/can.h>
#include <linux/can/error.h>

namespace drycrank::io {

void AddEventsOf(const bus::Frame& report, bus::EventQueue& events) {
  if ((report.id & CAN_ERR_CRTL) != 0) {
    const unsigned state = report.data[1];
    if ((state & CAN_ERR_CRTL_RX_OVERFLOW) != 0) events.Push(bus::BusEvent::kOverrun);
    if ((state & (CAN_ERR_CRTL_RX_PASSIVE | CAN_ERR_CRTL_TX_PASSIVE)) != 0) {
      events.Push(bus::BusEvent::kErrorPassive);
    }
  }
  if ((report.id & CAN_ERR_BUSOFF) != 0) events.Push(bus::BusEvent::kBusOff);
  if ((report.id & CAN_ERR_RESTARTED) != 0) events.Push(bus::BusEvent::kUp);
}

}  // namespace drycrank::io
