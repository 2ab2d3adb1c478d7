// SPDX-License-Identifier: Apache-2.0
#include "bus/checksum.h"

#include <array>

namespace drycrank::bus {
namespace {

using Table = std::array<std::uint8_t, 256>;

// Remainder of every byte followed by eight zero bits, most significant bit first.
constexpr Table MakeTable(std::uint8_t polynomial) {
  Table table{};
  for (unsigned byte = 0; byte < 256; ++byte) {
    unsigned remainder = byte;
    for (int bit = 0; bit < 8; ++bit) {
      const bool carry = (remainder & 0x80u) != 0;
      remainder = (remainder << 1) & 0xFFu;
      if (carry) remainder ^= polynomial;
    }
    table[byte] = static_cast<std::uint8_t>(remainder);
  }
  return table;
}

constexpr Table kTable1D = MakeTable(0x1D);
constexpr Table kTable2F = MakeTable(0x2F);

std::uint8_t Crc8(const Table& table, std::span<const std::uint8_t> data) {
  std::uint8_t crc = 0xFF;
  for (const std::uint8_t byte : data) crc = table[crc ^ byte];
  return static_cast<std::uint8_t>(crc ^ 0xFF);
}

}  // namespace

std::uint8_t Crc8SaeJ1850(std::span<const std::uint8_t> data) { return Crc8(kTable1D, data); }
std::uint8_t Crc8Autosar(std::span<const std::uint8_t> data) { return Crc8(kTable2F, data); }

}  // namespace drycrank::bus
