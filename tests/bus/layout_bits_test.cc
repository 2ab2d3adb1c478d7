// SPDX-License-Identifier: Apache-2.0
//
// Where the bits of a signal lie. Patterns marked "by hand" were drawn on paper.
#include <gtest/gtest.h>

#include "bus/layout.h"
#include "tests/bus/build_signal.h"
#include "types/random.h"

namespace drycrank::bus {
namespace {

using Data = std::vector<std::uint8_t>;

Data Inserted(const profile::Signal& signal, std::uint64_t bits, Data data = Data(8)) {
  InsertBits(signal, bits, data);
  return data;
}

TEST(LayoutBits, LittleEndianGrowsUpwards) {
  // By hand: 0xABC at bit 4: nibble C in the upper half of byte 0, AB in byte 1.
  EXPECT_EQ(Inserted(Little(4, 12), 0xABC), Bytes("C0AB000000000000"));
  EXPECT_EQ(ExtractBits(Little(4, 12), Bytes("CFAB")), 0xABCu);
}

TEST(LayoutBits, BigEndianStartsAtItsMostSignificantBit) {
  // By hand: 0xABC with its top bit at bit 3 of byte 0: A in the lower half of byte 0, BC in
  // byte 1.
  EXPECT_EQ(Inserted(Big(3, 12), 0xABC), Bytes("0ABC000000000000"));
  EXPECT_EQ(ExtractBits(Big(3, 12), Bytes("FABC")), 0xABCu);
  // By hand: 10 bits 0x2AB = 10 1010 1011 from bit 1 of byte 2: "10" there, 1010 1011 in byte 3.
  EXPECT_EQ(Inserted(Big(17, 10), 0x2AB), Bytes("000002AB00000000"));
}

TEST(LayoutBits, NeighboursKeepTheirBits) {
  // By hand: clearing bits 6..9 of all ones leaves 0011 1111 and 1111 1100.
  EXPECT_EQ(Inserted(Little(6, 4), 0, Data(2, 0xFF)), Bytes("3FFC"));
  // By hand: big-endian 4 bits from bit 1 of byte 0: bits 1,0 there and bits 7,6 of byte 1.
  EXPECT_EQ(Inserted(Big(1, 4), 0, Data(2, 0xFF)), Bytes("FC3F"));
}

TEST(LayoutBits, BitsBeyondTheSignalAreNotWritten) {
  EXPECT_EQ(Inserted(Little(8, 4), 0xFFFF), Bytes("000F000000000000"));
}

TEST(LayoutBits, ShortDataReadsZeroAndIsNotWrittenBeyond) {
  EXPECT_EQ(ExtractBits(Little(0, 16), Bytes("34")), 0x34u);
  EXPECT_EQ(ExtractBits(Big(7, 16), Bytes("34")), 0x3400u);
  EXPECT_EQ(Inserted(Little(0, 16), 0x1234, Data(1)), Bytes("34"));
}

// The definition itself, one bit at a time (profile/bench.h): little-endian goes up one bit number
// per bit from the least significant; big-endian down from the most significant, and from bit 0 of
// a byte to bit 7 of the next.
std::uint64_t BitByBit(const profile::Signal& signal, const Data& data) {
  std::uint64_t bits = 0;
  int at = signal.start_bit;
  for (int i = 0; i < signal.length_bits; ++i) {
    const std::uint64_t bit = (data[static_cast<std::size_t>(at / 8)] >> (at % 8)) & 1u;
    if (signal.byte_order == profile::ByteOrder::kLittle) {
      bits |= bit << i;
      ++at;
    } else {
      bits = bits << 1 | bit;
      at = at % 8 == 0 ? at + 15 : at - 1;
    }
  }
  return bits;
}

TEST(LayoutBits, EveryLengthAtEveryStartFollowsTheDefinition) {
  Random random(1, 0);
  Data noise(64);
  for (std::uint8_t& byte : noise) byte = static_cast<std::uint8_t>(random.Next());
  for (int length = 1; length <= 64; ++length) {
    for (int start = 0; start < 64; ++start) {
      for (const profile::Signal& signal : {Little(start, length), Big(start, length)}) {
        const std::uint64_t bits = BitByBit(signal, noise);
        ASSERT_EQ(ExtractBits(signal, noise), bits) << start << "+" << length;
        ASSERT_EQ(BitByBit(signal, Inserted(signal, ~bits, noise)),
                  length == 64 ? ~bits : ~bits & ((std::uint64_t{1} << length) - 1));
        ASSERT_EQ(Inserted(signal, bits, Inserted(signal, ~bits, noise)), noise);
      }
    }
  }
}

}  // namespace
}  // namespace drycrank::bus
