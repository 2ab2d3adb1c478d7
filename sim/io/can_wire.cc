// SPDX-License-Identifier: Apache-2.0
#include "io/can_wire.h"

#include <algorithm>
#include <cassert>

namespace drycrank::io {

WireFrame ToWire(const bus::Frame& frame) {
  assert(bus::IsValid(frame));
  WireFrame wire;
  wire.size = frame.fd ? CANFD_MTU : CAN_MTU;
  wire.frame.can_id = frame.id;
  if (frame.extended) wire.frame.can_id |= CAN_EFF_FLAG;
  if (frame.remote) wire.frame.can_id |= CAN_RTR_FLAG;
  wire.frame.len = frame.length;
  if (frame.bit_rate_switch) wire.frame.flags |= CANFD_BRS;
  if (frame.error_state) wire.frame.flags |= CANFD_ESI;
  if (!frame.remote) std::copy_n(frame.data.begin(), frame.length, wire.frame.data);
  return wire;
}

std::optional<bus::Frame> FromWire(const canfd_frame& wire, std::size_t size) {
  bus::Frame frame;
  frame.fd = size == CANFD_MTU;
  if (!frame.fd && size != CAN_MTU) return std::nullopt;
  if (wire.len > (frame.fd ? CANFD_MAX_DLEN : CAN_MAX_DLEN)) return std::nullopt;
  frame.error = (wire.can_id & CAN_ERR_FLAG) != 0;
  frame.extended = (wire.can_id & CAN_EFF_FLAG) != 0 || frame.error;
  frame.remote = (wire.can_id & CAN_RTR_FLAG) != 0 && !frame.error;
  frame.id = wire.can_id & (frame.extended ? CAN_EFF_MASK : CAN_SFF_MASK);
  frame.length = wire.len;
  // In a classical frame these bits are padding.
  frame.bit_rate_switch = frame.fd && (wire.flags & CANFD_BRS) != 0;
  frame.error_state = frame.fd && (wire.flags & CANFD_ESI) != 0;
  if (!frame.remote) std::copy_n(wire.data, wire.len, frame.data.begin());
  if (!frame.error && !bus::IsValid(frame)) return std::nullopt;
  return frame;
}

}  // namespace drycrank::io
