// SPDX-License-Identifier: Apache-2.0
//
// SAE J1939-21: what a 29-bit identifier says, and the requests of one frame.
//
//   28..26 priority | 25 extended data page | 24 data page | 23..16 PF | 15..8 PS | 7..0 source
//
// PF < 240: PS is the destination, and the parameter group number (PGN) ends in 00. PF >= 240: PS
// belongs to the PGN and everyone is addressed.
#ifndef DRYCRANK_PROTOCOL_J1939_H_
#define DRYCRANK_PROTOCOL_J1939_H_

#include <cstdint>
#include <optional>
#include <span>

#include "bus/frame.h"
#include "profile/on_board.h"

namespace drycrank::protocol {

inline constexpr std::uint8_t kGlobalAddress = 255, kNullAddress = 254;
inline constexpr std::uint32_t kPgnRequest = 0xEA00, kPgnAcknowledge = 0xE800,
                               kPgnAddressClaimed = 0xEE00, kPgnTransportManagement = 0xEC00,
                               kPgnTransportData = 0xEB00, kPgnDm1 = 0xFECA, kPgnDm2 = 0xFECB,
                               kPgnDm3 = 0xFECC;

struct J1939Id {
  int priority = 6;  // 0 first .. 7
  std::uint32_t pgn = 0;
  std::uint8_t destination = kGlobalAddress;
  std::uint8_t source = kNullAddress;

  friend bool operator==(const J1939Id&, const J1939Id&) = default;
};
// REQUIRES: id has 29 bits.
J1939Id SplitId(std::uint32_t id);
// REQUIRES: pgn has 18 bits, and its last byte is 0 when PF < 240.
std::uint32_t JoinId(const J1939Id& id);
// A data frame with a J1939 identifier?
std::optional<J1939Id> J1939IdOf(const bus::Frame& frame);
// REQUIRES: at most 8 bytes. No padding.
bus::Frame J1939Frame(const J1939Id& id, std::span<const std::uint8_t> data);

// "Send me this parameter group", PGN 59904: 3 bytes, least significant first.
bus::Frame RequestFrame(std::uint32_t pgn, std::uint8_t destination, std::uint8_t source);
std::optional<std::uint32_t> RequestedPgn(const bus::Frame& frame);
// PGN 59392: positive 0, negative 1.
bus::Frame AcknowledgeFrame(std::uint8_t control, std::uint32_t pgn, std::uint8_t to,
                            std::uint8_t source);

// SAE J1939-81, the 64-bit NAME. It travels least significant byte first; the lower NAME wins.
using profile::J1939Name;
std::uint64_t Pack(const J1939Name& name);
J1939Name UnpackName(std::uint64_t name);

}  // namespace drycrank::protocol

#endif  // DRYCRANK_PROTOCOL_J1939_H_
