// SPDX-License-Identifier: Apache-2.0
//
// Numbers of the pcapng format (source: see pcapng.h). Internal to its reader and writer.
#ifndef DRYCRANK_BUS_PCAPNG_WORDS_H_
#define DRYCRANK_BUS_PCAPNG_WORDS_H_

#include <cstdint>

namespace drycrank::bus::pcapng {

// Blocks.
inline constexpr std::uint32_t kSection = 0x0A0D0D0A;
inline constexpr std::uint32_t kInterface = 1;
inline constexpr std::uint32_t kPacket = 6;
// Names, statistics, secrets and the like (draft-ietf-opsawg-pcapng, 4 and 10.1): no frames.
inline constexpr std::uint32_t kLastKnown = 10;
inline constexpr std::uint32_t kOldPacket = 2, kSimplePacket = 3;  // frames all the same
inline constexpr std::uint32_t kCustom = 0x00000BAD, kCustomNotCopied = 0x40000BAD;

inline constexpr std::uint32_t kByteOrder = 0x1A2B3C4D;

// Options.
inline constexpr std::uint16_t kEndOfOptions = 0;
inline constexpr std::uint16_t kSectionApplication = 4;
inline constexpr std::uint16_t kInterfaceName = 2;
inline constexpr std::uint16_t kInterfaceResolution = 9;
inline constexpr std::uint16_t kInterfaceOffset = 14;
inline constexpr std::uint16_t kPacketFlags = 2;

// The two lowest bits of a packet's flags.
inline constexpr std::uint32_t kInbound = 1;
inline constexpr std::uint32_t kOutbound = 2;

}  // namespace drycrank::bus::pcapng

#endif  // DRYCRANK_BUS_PCAPNG_WORDS_H_
