// SPDX-License-Identifier: Apache-2.0
//
// Frames of the connection management (PGN 60416), SAE J1939-21: first byte, and where the PGN is.
#ifndef DRYCRANK_PROTOCOL_J1939_MANAGEMENT_H_
#define DRYCRANK_PROTOCOL_J1939_MANAGEMENT_H_

#include <array>
#include <cstdint>

#include "protocol/j1939.h"

namespace drycrank::protocol {

inline constexpr std::uint8_t kRequestToSend = 0x10, kClearToSend = 0x11, kEndOfMessage = 0x13,
                              kBroadcastAnnounce = 0x20, kConnectionAbort = 0xFF;
inline constexpr std::uint8_t kReasonBusy = 1, kReasonNoRoom = 2, kReasonTimeout = 3,
                              kReasonBadSequence = 7;
inline constexpr std::size_t kPacketBytes = 7;
inline constexpr TimeNs kT1Ns = 750 * kNsPerMs, kT2Ns = 1250 * kNsPerMs, kT3Ns = 1250 * kNsPerMs,
                        kT4Ns = 1050 * kNsPerMs;

inline std::uint32_t PgnIn(const bus::Frame& frame) {
  return frame.data[5] | static_cast<std::uint32_t>(frame.data[6]) << 8 |
         static_cast<std::uint32_t>(frame.data[7] & 3) << 16;
}

// b1..b4 follow the control byte, then the PGN. Priority 7, as the standard has it.
inline bus::Frame ManagementFrame(std::uint8_t source, std::uint8_t destination, std::uint32_t pgn,
                                  const std::array<std::uint8_t, 5>& head) {
  const std::array<std::uint8_t, 8> data = {head[0],
                                            head[1],
                                            head[2],
                                            head[3],
                                            head[4],
                                            static_cast<std::uint8_t>(pgn & 0xFF),
                                            static_cast<std::uint8_t>(pgn >> 8 & 0xFF),
                                            static_cast<std::uint8_t>(pgn >> 16 & 3)};
  return J1939Frame({7, kPgnTransportManagement, destination, source}, data);
}

}  // namespace drycrank::protocol

#endif  // DRYCRANK_PROTOCOL_J1939_MANAGEMENT_H_
