// SPDX-License-Identifier: Apache-2.0
//
// SAE J1939-73: DM1 (active) and DM2 (previously active trouble codes).
//
//   byte 1  lamps, two bits each: malfunction 8..7, red stop 6..5, amber 4..3, protect 2..1
//   byte 2  how they flash, 11 = not said
//   then four bytes per code: SPN 8 low bits, SPN 8 middle bits, SPN 3 high bits | FMI 5 bits,
//   conversion method 1 bit (0) | occurrences 7 bits
//
// No code: one of all zeros. Bytes left in a single frame are FF. Two codes or more need the
// transport protocol.
#ifndef DRYCRANK_PROTOCOL_TROUBLE_H_
#define DRYCRANK_PROTOCOL_TROUBLE_H_

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace drycrank::protocol {

struct SpnTrouble {
  std::uint32_t spn = 0;   // 19 bits
  std::uint8_t fmi = 0;    // 5 bits
  std::uint8_t count = 1;  // 7 bits; 127: not known

  friend bool operator==(const SpnTrouble&, const SpnTrouble&) = default;
};
struct Lamps {  // 0 off, 1 on, 3 not available
  std::uint8_t malfunction = 0, red_stop = 0, amber = 0, protect = 0;

  friend bool operator==(const Lamps&, const Lamps&) = default;
};

// At most so many go into one message of 1785 bytes.
inline constexpr std::size_t kMaxSpnTroubles = (1785 - 2) / 4;

// Writes into `out` and returns the length. REQUIRES: out has 2 + 4 * max(1, troubles) bytes, 8 at
// least.
std::size_t PackTroubles(const Lamps& lamps, std::span<const SpnTrouble> troubles,
                         std::span<std::uint8_t> out);
struct DmView {
  Lamps lamps;
  std::span<const std::uint8_t> codes;  // four bytes each

  std::size_t size() const { return codes.size() / 4; }
  SpnTrouble operator[](std::size_t index) const;
};
// Nothing when it is too short. A lone code of zeros, and padding, count as none.
std::optional<DmView> ReadTroubles(std::span<const std::uint8_t> message);

}  // namespace drycrank::protocol

#endif  // DRYCRANK_PROTOCOL_TROUBLE_H_
