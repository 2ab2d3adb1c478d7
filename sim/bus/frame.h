// SPDX-License-Identifier: Apache-2.0
//
// One CAN frame, classical or FD (ISO 11898-1). A plain value of fixed size.
#ifndef DRYCRANK_BUS_FRAME_H_
#define DRYCRANK_BUS_FRAME_H_

#include <array>
#include <cstdint>
#include <span>

#include "types/time.h"

namespace drycrank::bus {

struct Frame {
  std::uint32_t id = 0;  // 11 or 29 bits, no flags inside
  bool extended = false;
  bool remote = false;  // classical only; length then is the length asked for
  bool error = false;   // an error report of the interface, not a frame of the bus
  bool fd = false;
  bool bit_rate_switch = false;
  bool error_state = false;  // FD: sender is error-passive
  std::uint8_t length = 0;   // bytes; FD: 0..8, 12, 16, 20, 24, 32, 48, 64
  std::array<std::uint8_t, 64> data{};

  std::span<const std::uint8_t> bytes() const { return {data.data(), length}; }
  friend bool operator==(const Frame&, const Frame&) = default;
};

// Whether a real bus could carry it: id in range, legal length, no FD remote frame, the FD flags on
// FD frames only. An error report is not carried, so it is not valid.
bool IsValid(const Frame& frame);

// A frame as it was seen: when, on which bus of the bench, and whether we sent it.
struct TimedFrame {
  TimeNs t_ns = 0;
  int bus = 0;
  bool sent = false;
  Frame frame;
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_FRAME_H_
