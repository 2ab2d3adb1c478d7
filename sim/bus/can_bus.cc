// SPDX-License-Identifier: Apache-2.0
#include "bus/can_bus.h"

namespace drycrank::bus {

const char* Name(BusEvent event) {
  switch (event) {
    case BusEvent::kUp:
      return "up";
    case BusEvent::kDown:
      return "down";
    case BusEvent::kBusOff:
      return "bus off";
    case BusEvent::kErrorPassive:
      return "error passive";
    case BusEvent::kOverrun:
      return "overrun";
    case BusEvent::kSendQueueFull:
      return "send queue full";
  }
  return "?";
}

}  // namespace drycrank::bus
