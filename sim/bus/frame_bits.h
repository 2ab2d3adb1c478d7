// SPDX-License-Identifier: Apache-2.0
//
// How many bits a frame takes on the wire, from start of frame to the end of the three bits of
// intermission, stuff bits included. ISO 11898-1; worst case of a classical frame: Davis, Burns,
// Bril, Lukkien, "Controller Area Network (CAN) schedulability analysis: Refuted, revisited and
// revised", Real-Time Systems 35 (2007), equations (1) to (3):
//
//   g + 8s + 13 + floor((g + 8s - 1) / 4)      g = 34 (11-bit) or 54 (29-bit), s data bytes
//
//   classical  |SOF|ID|RTR|IDE|r|DLC| data | CRC 15 |d|ACK|d| EOF 7 | 3 |
//              |<------ stuffed: 1 after 5 equal -->|
//   FD         |SOF|ID|RRS|IDE|FDF|r|BRS| ESI|DLC| data | count 4, CRC 17 or 21 |d|ACK|d|EOF 7| 3 |
//              |<--- stuffed: 1 after 5 equal --------->| one fixed stuff bit before every 4 |
//              |<-- nominal rate ------>|<------- data rate, if switched ------->|<-- nominal -->|
//
// A classical frame is stuffed over its checksum too, so that is worked out; an FD frame's checksum
// has fixed stuff bits, so its value does not matter. The rate changes at the sample point of BRS
// and of the delimiter after the checksum: BRS counts as nominal and the delimiter as data, which
// is exact when both rates sample at the same share of a bit.
#ifndef DRYCRANK_BUS_FRAME_BITS_H_
#define DRYCRANK_BUS_FRAME_BITS_H_

#include <cstdint>
#include <span>

#include "bus/frame.h"
#include "profile/message.h"
#include "types/time.h"

namespace drycrank::bus {

// The last of them, between two frames: the bus is busy, but the frame is received already.
inline constexpr int kIntermissionBits = 3;

struct FrameBits {
  int nominal = 0;  // at the bus's bit rate
  int data = 0;     // at the FD data bit rate; 0 unless the frame switches

  int total() const { return nominal + data; }
  friend bool operator==(const FrameBits&, const FrameBits&) = default;
};

// Of this very frame. REQUIRES: IsValid(frame).
FrameBits ExactBits(const Frame& frame);
// What no frame of the message's shape passes, whatever its identifier and data.
FrameBits WorstCaseBits(const profile::Message& message);
// What every frame of that shape takes at least: without a stuff bit.
FrameBits LeastBits(const profile::Message& message);

// Nearest nanosecond.
TimeNs DurationNs(const FrameBits& bits, const profile::Bus& bus);
TimeNs BitNs(const profile::Bus& bus);  // one bit at the nominal rate

// Polynomial 0x4599, begins with 0 ("CRC-15/CAN" in the CRC RevEng catalogue), over single bits.
std::uint32_t Crc15(std::span<const std::uint8_t> bits);

// The bits by which frames contend, in the order in which they are sent: the lower value wins. A
// standard frame beats an extended one with the same first eleven bits, data beats remote.
std::uint32_t ArbitrationField(const Frame& frame);

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_FRAME_BITS_H_
