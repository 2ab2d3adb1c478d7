// SPDX-License-Identifier: Apache-2.0
//
// The CRC-8s of vehicle buses. Parameters: CRC RevEng catalogue, CRC-8/SAE-J1850 (poly 0x1D, init
// 0xFF, xorout 0xFF, check 0x4B) and CRC-8/AUTOSAR (poly 0x2F, init 0xFF, xorout 0xFF, check 0xDF).
#ifndef DRYCRANK_BUS_CHECKSUM_H_
#define DRYCRANK_BUS_CHECKSUM_H_

#include <cstdint>
#include <span>

namespace drycrank::bus {

std::uint8_t Crc8SaeJ1850(std::span<const std::uint8_t> data);
std::uint8_t Crc8Autosar(std::span<const std::uint8_t> data);

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_CHECKSUM_H_
