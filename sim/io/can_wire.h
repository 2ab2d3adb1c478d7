// SPDX-License-Identifier: Apache-2.0
//
// Our frame as the kernel's struct canfd_frame (linux/can.h) and back. A classical frame is the
// first 16 bytes (CAN_MTU) of it, an FD frame all 72 (CANFD_MTU).
#ifndef DRYCRANK_IO_CAN_WIRE_H_
#define DRYCRANK_IO_CAN_WIRE_H_

#include <linux/can.h>

#include <cstddef>
#include <optional>

#include "bus/frame.h"

namespace drycrank::io {

struct WireFrame {
  canfd_frame frame{};
  std::size_t size = 0;  // CAN_MTU or CANFD_MTU
};

// REQUIRES: IsValid(frame).
WireFrame ToWire(const bus::Frame& frame);

// Nothing if `size` is neither of the two or the frame is none that a bus could carry (vcan passes
// FD lengths like 9). An error report comes back with `error` set and its class bits as `id`.
std::optional<bus::Frame> FromWire(const canfd_frame& wire, std::size_t size);

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_CAN_WIRE_H_
