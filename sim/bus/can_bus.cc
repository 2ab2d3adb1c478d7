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
    case BusEvent::kErrorActive:
      return "error active";
    case BusEvent::kErrorWarning:
      return "error warning";
    case BusEvent::kErrorPassive:
      return "error passive";
    case BusEvent::kNoAcknowledge:
      return "no acknowledge";
    case BusEvent::kBusError:
      return "bus error";
    case BusEvent::kTransmitTimeout:
      return "transmit timeout";
    case BusEvent::kTransceiver:
      return "transceiver fault";
    case BusEvent::kOverrun:
      return "overrun";
    case BusEvent::kSendQueueFull:
      return "send queue full";
    case BusEvent::kUnconfirmed:
      return "sent without confirmation";
    case BusEvent::kListenOnly:
      return "listen-only";
    case BusEvent::kFdRefused:
      return "FD frame on a classical interface";
    case BusEvent::kNotArmed:
      return "not armed";
    case BusEvent::kArmed:
      return "armed";
    case BusEvent::kSending:
      return "sending again";
  }
  return "?";
}

}  // namespace drycrank::bus
