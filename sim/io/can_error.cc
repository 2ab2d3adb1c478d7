// SPDX-License-Identifier: Apache-2.0
#include "io/can_error.h"

#include <linux/can.h>
#include <linux/can/error.h>

namespace drycrank::io {

ErrorEvents::ErrorEvents(const bus::Frame& report) {
  using bus::BusEvent;
  const auto is = [&](unsigned error_class) { return (report.id & error_class) != 0; };
  const unsigned state = is(CAN_ERR_CRTL) ? report.data[1] : 0;
  Add((state & CAN_ERR_CRTL_RX_OVERFLOW) != 0, BusEvent::kOverrun);
  Add(is(CAN_ERR_ACK), BusEvent::kNoAcknowledge);
  Add(is(CAN_ERR_PROT | CAN_ERR_BUSERROR) && !is(CAN_ERR_ACK), BusEvent::kBusError);
  Add(is(CAN_ERR_TX_TIMEOUT), BusEvent::kTransmitTimeout);
  Add(is(CAN_ERR_TRX), BusEvent::kTransceiver);
  Add((state & (CAN_ERR_CRTL_RX_WARNING | CAN_ERR_CRTL_TX_WARNING)) != 0, BusEvent::kErrorWarning);
  Add((state & (CAN_ERR_CRTL_RX_PASSIVE | CAN_ERR_CRTL_TX_PASSIVE)) != 0, BusEvent::kErrorPassive);
  Add((state & CAN_ERR_CRTL_ACTIVE) != 0, BusEvent::kErrorActive);
  Add(is(CAN_ERR_BUSOFF), BusEvent::kBusOff);
  Add(is(CAN_ERR_RESTARTED), BusEvent::kUp);
}

}  // namespace drycrank::io
