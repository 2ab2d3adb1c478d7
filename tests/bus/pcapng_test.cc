// SPDX-License-Identifier: Apache-2.0
//
// Bytes laid out by hand after draft-ietf-opsawg-pcapng and LINKTYPE_CAN_SOCKETCAN; tests/e2e opens
// files in tshark.
#include "bus/pcapng.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/bus/recorded.h"

namespace drycrank::bus {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

// "0A0D 0D0A" -> bytes
std::string Bytes(std::string_view hex) {
  std::string bytes;
  int high = -1;
  for (const char c : hex) {
    if (c == ' ') continue;
    const int digit = c <= '9' ? c - '0' : c - 'A' + 10;
    if (high < 0) {
      high = digit;
    } else {
      bytes.push_back(static_cast<char>(high << 4 | digit));
      high = -1;
    }
  }
  return bytes;
}

// Big-endian: section, interface "b" of link type 227 with microseconds (the default), and one
// packet at 2.000003 s: 0x00000000 001E8483 = 2,000,003 us. 29-bit identifier 0x18FEEE00, 2 bytes;
// inbound.
const std::string kBigEndian = Bytes(
    "0A0D0D0A 0000001C 1A2B3C4D 0001 0000 FFFFFFFFFFFFFFFF 0000001C"
    "00000001 00000020 00E3 0000 00000000 0002 0001 62000000 0000 0000 00000020"
    "00000006 00000038 00000000 00000000 001E8483 0000000A 0000000A"
    "98FEEE00 02 00 0000 AABB 0000 0002 0004 00000001 0000 0000 00000038");

TEST(Pcapng, ReadsABigEndianSectionLaidOutByHand) {
  const Read read = ReadBytes(kBigEndian);
  EXPECT_THAT(read.damage, IsEmpty());
  EXPECT_THAT(read.interfaces, ElementsAre("b"));
  ASSERT_EQ(read.frames.size(), 1u);
  EXPECT_EQ(read.frames[0].t_ns, 2'000'003'000);
  EXPECT_EQ(read.frames[0].direction, Direction::kReceived);
  EXPECT_TRUE(read.frames[0].frame.extended);
  EXPECT_EQ(read.frames[0].frame.id, 0x18FEEE00u);
  EXPECT_THAT(read.frames[0].frame.bytes(), ElementsAre(0xAA, 0xBB));
}

// The same frame as we write it: little-endian, the CAN header big-endian all the same. Nanoseconds:
// 2,000,003,000 / 2^16 = 30517 (0x7735) rest 40888 (0x9FB8).
TEST(Pcapng, WritesWhatIsLaidOutByHand) {
  fmt::memory_buffer out;
  AppendPcapngSection(out);
  AppendPcapngInterface("b", out);
  AppendPcapngFrame(ReadBytes(kBigEndian).frames.at(0), out);
  EXPECT_EQ(fmt::to_string(out),
            Bytes("0A0D0D0A 2C000000 4D3C2B1A 0100 0000 FFFFFFFFFFFFFFFF"
                  "0400 0800 6472796372616E6B 0000 0000 2C000000"  // "drycrank"
                  "01000000 28000000 E300 0000 00000000 0200 0100 62000000 0900 0100 09000000"
                  "0000 0000 28000000"
                  "06000000 38000000 00000000 00000000 B89F3577 0A000000 0A000000"
                  "98FEEE00 02 00 0000 AABB 0000 0200 0400 01000000 0000 0000 38000000"));
}

TEST(Pcapng, EveryKindOfFrameComesBack) {
  const Read log = ReadBytes(kEveryKind);
  const Read read = ReadBytes(AsPcapng(log));
  EXPECT_THAT(read.damage, IsEmpty());
  EXPECT_EQ(AsLog(read), kEveryKind);
}

TEST(Pcapng, KeepsNanosecondsAndDirection) {
  Read given{ReadBytes("(1.5) a 1FF#00\n(2) a 1FF#\n(3) b 1FF#\n").frames, {"a", "b"}, {}, 0};
  given.frames[0].t_ns = 1'700'000'000'123'456'789;
  given.frames[1].t_ns = given.frames[2].t_ns = given.frames[0].t_ns + 1;
  given.frames[0].direction = Direction::kSent;
  given.frames[1].direction = Direction::kReceived;
  const Read read = ReadBytes(AsPcapng(given));
  ASSERT_EQ(read.frames.size(), 3u);
  EXPECT_EQ(read.frames[0].t_ns, 1'700'000'000'123'456'789);
  EXPECT_EQ(read.frames[0].direction, Direction::kSent);
  EXPECT_EQ(read.frames[1].direction, Direction::kReceived);
  EXPECT_EQ(read.frames[2].direction, Direction::kUnknown);
  EXPECT_EQ(read.frames[2].interface, 1);
}

// Resolution 2^-10 s, offset 100 s: 1536 ticks = 1.5 s, so 101.5 s.
TEST(Pcapng, ReadsOtherResolutionsAndOffsets) {
  const Read read = ReadBytes(Bytes(
      "0A0D0D0A 0000001C 1A2B3C4D 0001 0000 FFFFFFFFFFFFFFFF 0000001C"
      "00000001 0000002C 00E3 0000 00000000 0009 0001 8A000000 000E 0008 0000000000000064 0000 0000"
      "0000002C"
      "00000006 00000028 00000000 00000000 00000600 00000008 00000008 00000123 00 00 0000 "
      "00000028"));
  EXPECT_THAT(read.damage, IsEmpty());
  ASSERT_EQ(read.frames.size(), 1u);
  EXPECT_EQ(read.frames[0].t_ns, 101'500'000'000);
  EXPECT_THAT(read.interfaces, ElementsAre("interface0"));
}

TEST(Pcapng, OtherLinkTypesAndBlocksArePassedOver) {
  const Read read = ReadBytes(
      kBigEndian + Bytes("00000001 00000014 0001 0000 00000000 00000014"  // Ethernet
                         "00000006 00000024 00000001 00000000 00000000 00000001 00000001 FF000000"
                         "00000024"
                         "0BADCAFE 00000010 01020304 00000010"));
  EXPECT_EQ(read.frames.size(), 1u);
  EXPECT_THAT(read.damage, IsEmpty());
  EXPECT_EQ(read.passed_over, 5u);  // section, two interfaces, packet, unknown block
}

// One bit of a packet block's type: 6 becomes 4, 7, 22 or 0x80000006.
TEST(Pcapng, AFrameUnderAnotherKindOfBlockIsDamage) {
  const std::string good = AsPcapng(ReadBytes(kEveryKind));
  const std::size_t at = good.find(std::string("\x06\0\0\0", 4), 100);
  for (const unsigned bit : {0u, 1u, 4u, 31u}) {
    std::string bytes = good;
    bytes[at + bit / 8] ^= static_cast<char>(1u << bit % 8);
    const Read read = ReadBytes(bytes);
    EXPECT_EQ(read.frames.size(), 9u) << bit;
    ASSERT_EQ(read.damage.size(), 1u) << bit;
    EXPECT_EQ(read.damage[0].offset, at) << bit;
  }
}

TEST(Pcapng, BlocksOfKindsThatAreNotReadAreCounted) {
  std::istringstream stream(kBigEndian +
                            Bytes("0BADCAFE 00000010 01020304 00000010"     // unknown
                                  "00000003 00000010 00000000 00000010"     // simple packet
                                  "00000005 00000010 00000000 00000010"));  // statistics
  RecordingReader reader(stream);
  EXPECT_EQ(ReadAll(reader).size(), 1u);
  EXPECT_EQ(reader.unread(), 2u);
}

TEST(Pcapng, ADamagedBlockIsSaidAndReadingGoesOnAtTheNextPacket) {
  const std::string good = AsPcapng(ReadBytes(kEveryKind));
  const std::size_t at = good.find(std::string("\x06\0\0\0", 4), 100);  // the first packet
  for (const std::size_t broken : {at + 4, at + 5, at + 6}) {           // its length
    std::string bytes = good;
    bytes[broken] = '\x7C';
    const Read read = ReadBytes(bytes);
    EXPECT_EQ(read.frames.size(), 9u) << broken;
    ASSERT_GE(read.damage.size(), 1u);
    EXPECT_EQ(read.damage[0].offset, at);
  }
  // Three bytes lost inside the first packet.
  const Read read = ReadBytes(good.substr(0, at + 30) + good.substr(at + 33));
  EXPECT_EQ(read.frames.size(), 9u);
  EXPECT_EQ(read.damage.size(), 1u);
}

TEST(Pcapng, ACutRecordingKeepsWhatWasWhole) {
  const std::string good = AsPcapng(ReadBytes(kEveryKind));
  const Read read = ReadBytes(good.substr(0, good.size() - 1));
  EXPECT_EQ(read.frames.size(), 9u);
  ASSERT_EQ(read.damage.size(), 1u);
  EXPECT_THAT(read.damage[0].what, HasSubstr("cut off"));
}

// 1 byte of each position, every value that a bit flip gives: no crash, never more frames than
// there are (the sanitizer preset runs this too).
TEST(Pcapng, HostileBytesDoNoHarm) {
  const std::string good = AsPcapng(ReadBytes(kEveryKind));
  for (std::size_t at = 0; at < good.size(); ++at) {
    for (int bit = 0; bit < 8; ++bit) {
      std::string bytes = good;
      bytes[at] = static_cast<char>(bytes[at] ^ (1 << bit));
      EXPECT_LE(ReadBytes(bytes).frames.size(), 10u);
    }
    EXPECT_LE(ReadBytes(good.substr(0, at)).frames.size(), 10u);
  }
}

// pcap with nanoseconds, link type 227, one packet at 2.000000003 s.
TEST(Pcap, IsReadToo) {
  const std::string head = "A1B23C4D 0002 0004 00000000 00000000 00000048 000000E3";
  const std::string packet = "00000002 00000003 00000009 00000009 00000123 01 00 0000 55";
  const Read read = ReadBytes(Bytes(head + packet));
  EXPECT_THAT(read.damage, IsEmpty());
  ASSERT_EQ(read.frames.size(), 1u);
  EXPECT_EQ(read.frames[0].t_ns, 2'000'000'003);
  EXPECT_THAT(read.frames[0].frame.bytes(), ElementsAre(0x55));
  const Read cut = ReadBytes(Bytes(head + packet + packet).substr(0, 24 + 25 + 20));
  EXPECT_EQ(cut.frames.size(), 1u);
  ASSERT_EQ(cut.damage.size(), 1u);
  EXPECT_EQ(cut.damage[0].offset, 49u);
  const Read ethernet = ReadBytes(Bytes("A1B23C4D 0002 0004 00000000 00000000 00000048 00000001"));
  ASSERT_EQ(ethernet.damage.size(), 1u);
  EXPECT_THAT(ethernet.damage[0].what, HasSubstr("link type 1 "));
}

}  // namespace
}  // namespace drycrank::bus
