// SPDX-License-Identifier: Apache-2.0
#include "bus/frame_bits.h"

#include <gtest/gtest.h>
#include <yaml-cpp/yaml.h>

#include "tests/bus/build_signal.h"
#include "types/random.h"

namespace drycrank::bus {
namespace {

profile::Message Shape(int length_bytes, bool extended, bool fd = false, bool switched = false) {
  profile::Message message;
  message.length_bytes = length_bytes;
  message.extended = extended;
  message.fd = fd;
  message.bit_rate_switch = switched;
  return message;
}

Frame FdFrame(std::uint32_t id, int length, bool switched) {
  Frame frame = FrameOf(id, false, "");
  frame.fd = true;
  frame.bit_rate_switch = switched;
  frame.length = static_cast<std::uint8_t>(length);
  return frame;
}

// Davis et al. 2007, equations (1) to (3), as tabulated in tests/reference/can_bus.yaml.
TEST(FrameBits, LeastAndMostAreThePublishedTable) {
  const YAML::Node table = YAML::LoadFile(
      DRYCRANK_TESTS_DIR "/reference/can_bus.yaml")["worst_case_frame_bits"]["table"];
  ASSERT_EQ(table.size(), 9u);
  for (const YAML::Node& row : table) {
    const int s = row[0].as<int>();
    EXPECT_EQ(LeastBits(Shape(s, false)), (FrameBits{row[1].as<int>(), 0}));
    EXPECT_EQ(WorstCaseBits(Shape(s, false)), (FrameBits{row[2].as<int>(), 0}));
    EXPECT_EQ(LeastBits(Shape(s, true)), (FrameBits{row[3].as<int>(), 0}));
    EXPECT_EQ(WorstCaseBits(Shape(s, true)), (FrameBits{row[4].as<int>(), 0}));
  }
}

// CRC RevEng catalogue, CRC-15/CAN: the check value over "123456789" is 0x059E.
TEST(FrameBits, Crc15HasItsCatalogueCheckValue) {
  std::vector<std::uint8_t> bits;
  for (const char c : std::string("123456789")) {
    for (int bit = 7; bit >= 0; --bit) bits.push_back(static_cast<std::uint8_t>((c >> bit) & 1));
  }
  EXPECT_EQ(Crc15(bits), 0x059Eu);
}

// Id 0, no data: start, id, RTR, IDE, r, length are 19 zeros, their checksum 15 more. In 34 zeros a
// one goes in after every five of them: 34 / 5 = 6. 47 + 6 = 53.
TEST(FrameBits, AllZeroFrameWorkedByHand) {
  EXPECT_EQ(ExactBits(FrameOf(0, false, "")), (FrameBits{53, 0}));
}

// Id 0, remote, asks for 1 byte: 0 00000000000 1 0 0 0001 and the checksum of x^6 + 1. By hand, x
// to the n modulo 0x4599: 1: 4599, x: 4EAB, x2: 58CF, x3: 7407, x4: 2D97, x5: 5B2E, x6: 73C5; so
// 73C5 xor 4599 = 365C = 011011001011100. 00000(1)00000(1)00 1 00000(1)1 011011001011100: 3 stuff
// bits. 47 + 3.
TEST(FrameBits, RemoteFrameWorkedByHand) {
  Frame frame = FrameOf(0, false, "");
  frame.remote = true;
  frame.length = 1;
  EXPECT_EQ(ExactBits(frame), (FrameBits{50, 0}));
}

// FD, id 0, no data: start, id, RRS, IDE are 14 zeros: 2 stuff bits. FDF 1; res, BRS, ESI, length 7
// zeros: 1 stuff bit. 22 + 3; stuff count and checksum 21 with 6 fixed stuff bits, delimiter; 12
// after.
TEST(FrameBits, FdFrameWorkedByHand) {
  EXPECT_EQ(ExactBits(FdFrame(0, 0, false)), (FrameBits{22 + 3 + 27 + 1 + 12, 0}));
  // Switched: 17 bits with 2 stuff bits up to BRS and 12 at the end are slow. After BRS come ESI
  // and length, five zeros: what they owe is the fixed stuff bit that comes anyway.
  EXPECT_EQ(ExactBits(FdFrame(0, 0, true)), (FrameBits{17 + 2 + 12, 5 + 27 + 1}));
}

// 64 bytes, 11 bits, switched: slow 17 + floor(16 / 4) + 12 = 33. Stuffed part 22 + 512 = 534, at
// most floor(533 / 4) = 133 stuff bits, 129 of them fast: 5 + 512 + 129; 25 + 7 fixed, delimiter.
TEST(FrameBits, LongestFdFrameWorkedByHand) {
  EXPECT_EQ(WorstCaseBits(Shape(64, false, true, true)), (FrameBits{33, 5 + 512 + 129 + 33}));
  EXPECT_EQ(WorstCaseBits(Shape(64, false, true, false)).total(), 33 + 679);
}

TEST(FrameBits, NoFrameLeavesItsBounds) {
  Random random(1, 1);
  constexpr int kLengths[] = {0, 1, 2, 3, 4, 5, 6, 7, 8, 12, 16, 20, 24, 32, 48, 64};
  int most_stuffed = 0;
  for (int i = 0; i < 20'000; ++i) {
    const std::uint64_t bits = random.Next();
    Frame frame;
    frame.fd = (bits & 1) != 0;
    frame.extended = (bits & 2) != 0;
    frame.bit_rate_switch = frame.fd && (bits & 4) != 0;
    frame.length = static_cast<std::uint8_t>(kLengths[(bits >> 3) % (frame.fd ? 16 : 9)]);
    frame.id = static_cast<std::uint32_t>(bits >> 32) & (frame.extended ? 0x1FFFFFFF : 0x7FF);
    // Long runs of equal bits, so that there is something to stuff.
    for (std::uint8_t& byte : frame.data) byte = random.Uniform() < 0.5 ? 0x00 : 0xFF;
    const profile::Message shape =
        Shape(frame.length, frame.extended, frame.fd, frame.bit_rate_switch);
    const FrameBits exact = ExactBits(frame);
    EXPECT_LE(exact.total(), WorstCaseBits(shape).total());
    EXPECT_GE(exact.nominal, LeastBits(shape).nominal);
    EXPECT_GE(exact.data, LeastBits(shape).data);
    most_stuffed = std::max(most_stuffed, exact.total() - LeastBits(shape).total());
  }
  EXPECT_GT(most_stuffed, 60);
}

// 135 bits at 500 kbit/s: 270 us (tests/reference/can_bus.yaml, bus_load_examples).
TEST(FrameBits, LastAsLongAsPublished) {
  profile::Bus bus;
  bus.bitrate_bps = 500e3;
  bus.data_bitrate_bps = 2e6;
  EXPECT_EQ(DurationNs({135, 0}, bus), 270 * kNsPerUs);
  EXPECT_EQ(DurationNs({30, 100}, bus), 60 * kNsPerUs + 50 * kNsPerUs);
  EXPECT_EQ(BitNs(bus), 2 * kNsPerUs);
}

// ISO 11898-1: zero is dominant; the standard frame wins of one base, data beats remote.
TEST(FrameBits, ArbitrationGoesBitByBit) {
  const auto field = [](std::uint32_t id, bool extended, bool remote) {
    Frame frame = FrameOf(id, extended, "");
    frame.remote = remote;
    return ArbitrationField(frame);
  };
  const std::uint32_t extended_123 = 0x123u << 18;
  EXPECT_LT(field(0x122, false, true), field(0x123, false, false));
  EXPECT_LT(field(0x123, false, false), field(0x123, false, true));
  EXPECT_LT(field(0x123, false, true), field(extended_123, true, false));
  EXPECT_LT(field(extended_123, true, false), field(extended_123, true, true));
  EXPECT_LT(field(extended_123, true, true), field(extended_123 + 1, true, false));
  EXPECT_LT(field(extended_123 + 0x3FFFF, true, true), field(0x124, false, false));
}

}  // namespace
}  // namespace drycrank::bus
