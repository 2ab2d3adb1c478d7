// SPDX-License-Identifier: Apache-2.0
#include "protocol/j1939.h"

#include <gtest/gtest.h>
#include <yaml-cpp/yaml.h>

#include "tests/bus/build_signal.h"

namespace drycrank::protocol {
namespace {

using bus::Bytes;
using bus::DataOf;
using bus::FrameOf;

// Published identifiers, each decoded with tshark: tests/reference/j1939_id.yaml.
TEST(J1939, IdentifiersSplitAndJoinAsPublished) {
  int seen = 0;
  for (const YAML::Node& row :
       YAML::LoadFile(DRYCRANK_TESTS_DIR "/reference/j1939_id.yaml")["ids"]) {
    const auto id = row[0].as<std::uint32_t>();
    const J1939Id expected{row[1].as<int>(), row[2].as<std::uint32_t>(),
                           static_cast<std::uint8_t>(row[4].as<int>()),
                           static_cast<std::uint8_t>(row[3].as<int>())};
    EXPECT_EQ(SplitId(id), expected) << std::hex << id;
    EXPECT_EQ(JoinId(expected), id) << std::hex << id;
    ++seen;
  }
  EXPECT_EQ(seen, 10);
}

// PGN 59904 = EA00; asked for 65226 = FECA, least significant byte first: CA FE 00.
TEST(J1939, RequestIsThreeBytes) {
  const bus::Frame frame = RequestFrame(kPgnDm1, 0x00, 0xF9);
  EXPECT_EQ(frame, FrameOf(0x18EA00F9, true, "CAFE00"));
  EXPECT_EQ(RequestedPgn(frame), kPgnDm1);
  EXPECT_FALSE(RequestedPgn(FrameOf(0x18EA00F9, true, "CAFE")).has_value());
  EXPECT_FALSE(RequestedPgn(FrameOf(0x18EB00F9, true, "CAFE00")).has_value());
}

// Worked: identity 1 in bits 0..20, manufacturer 5 << 21 = A0 0001, function 0x19 in byte 5,
// system 1 << 49 = 02 in byte 6, industry group 4 << 60 = 40 in byte 7, arbitrary address 80.
TEST(J1939, NameIsPackedByItsFields) {
  J1939Name name;
  name.identity = 1;
  name.manufacturer = 5;
  name.function = 0x19;
  name.system = 1;
  name.industry_group = 4;
  name.arbitrary_address = true;
  EXPECT_EQ(Pack(name), 0xC002190000A00001u);
  const J1939Name back = UnpackName(Pack(name));
  EXPECT_EQ(back.manufacturer, 5);
  EXPECT_EQ(back.function, 0x19);
  EXPECT_EQ(back.system, 1);
  EXPECT_EQ(back.industry_group, 4);
  EXPECT_TRUE(back.arbitrary_address);
  EXPECT_EQ(Pack(UnpackName(0x123456789ABCDEF0u)) | 1ull << 48, 0x123456789ABCDEF0u | 1ull << 48);
}

TEST(J1939, OnlyDataFramesOf29BitsSpeakIt) {
  EXPECT_FALSE(J1939IdOf(FrameOf(0x123, false, "00")).has_value());
  bus::Frame remote = FrameOf(0x18EA00F9, true, "000000");
  remote.remote = true;
  EXPECT_FALSE(J1939IdOf(remote).has_value());
}

}  // namespace
}  // namespace drycrank::protocol
