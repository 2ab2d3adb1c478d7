// SPDX-License-Identifier: Apache-2.0
#include "io/frame_datagram.h"

#include <gtest/gtest.h>

#include "tests/io/datagram_examples.h"

namespace drycrank::io {
namespace {

using bus::Bytes;
using bus::Frame;
using bus::FrameOf;

Frame Standard(std::uint32_t id, const std::string& hex) { return FrameOf(id, false, hex); }

TEST(FrameDatagram, WritesWhatPythonCanWrites) {
  for (const Example& example : PythonCanExamples()) {
    const EncodedFrame encoded = EncodeDatagram(example.frame);
    EXPECT_EQ(Raw(encoded.bytes().begin(), encoded.bytes().end()), Bytes(example.hex))
        << example.name;
  }
}

TEST(FrameDatagram, ReadsWhatPythonCanWrites) {
  for (const Example& example : PythonCanExamples()) {
    EXPECT_EQ(DecodeDatagram(Bytes(example.hex)), example.frame) << example.name;
  }
}

TEST(FrameDatagram, LongestFrameFits) {
  Frame frame = FrameOf(0x1FFFFFFF, true, "");
  frame.fd = true;
  frame.length = 64;
  frame.data.fill(0xA5);
  EXPECT_EQ(DecodeDatagram(EncodeDatagram(frame).bytes()), frame);
}

// Each accepted by python-can 4.1 as well.
TEST(FrameDatagram, TakesOtherWidthsOrdersAndMissingKeys) {
  const Raw no = {0xC2};
  const Frame wanted = Standard(5, "0102");
  EXPECT_EQ(DecodeDatagram(MapOf(
                {{"data", {0xC4, 2, 1, 2}}, {"is_extended_id", no}, {"arbitration_id", {5}}})),
            wanted);
  EXPECT_EQ(DecodeDatagram(MapOf({{"arbitration_id", {0xCF, 0, 0, 0, 0, 0, 0, 0, 5}},
                                  {"dlc", {0xD1, 0, 2}},
                                  {"data", {0xC5, 0, 2, 1, 2}},
                                  {"is_extended_id", no}})),
            wanted);
  EXPECT_EQ(DecodeDatagram(MapOf(
                {{"arbitration_id", {5}}, {"data", {0x92, 1, 0xCC, 2}}, {"is_extended_id", no}})),
            wanted);
  EXPECT_EQ(
      DecodeDatagram(MapOf(
          {{"arbitration_id", {5}}, {"channel", {0xA3, 'a', 'b', 'c'}}, {"is_extended_id", no}})),
      Standard(5, ""));
  EXPECT_EQ(DecodeDatagram(MapOf({{"arbitration_id", {5}}})), FrameOf(5, true, ""));  // its default
}

TEST(FrameDatagram, UnknownKeysAreSkippedWithAllThatIsInThem) {
  const Raw nested = {0x82, 0x01, 0x92, 0xC0, 0xA1, 'x', 0xC0, 0xD6, 1, 2, 3, 4, 5};
  EXPECT_EQ(DecodeDatagram(MapOf({{"is_rx", {0xC3}}, {"more", nested}, {"arbitration_id", {5}}})),
            FrameOf(5, true, ""));
}

TEST(FrameDatagram, ErrorReportIsToldFromAFrame) {
  const std::optional<Frame> frame = DecodeDatagram(
      MapOf({{"arbitration_id", {0x40}}, {"is_error_frame", {0xC3}}, {"data", {0xC4, 1, 0}}}));
  ASSERT_TRUE(frame.has_value());
  EXPECT_TRUE(frame->error);
  EXPECT_EQ(frame->id, 0x40u);
}

TEST(FrameDatagram, WhatNoBusCouldCarryIsMalformed) {
  const Raw yes = {0xC3};
  const Raw no = {0xC2};
  const Raw nine = {0xC4, 9, 1, 2, 3, 4, 5, 6, 7, 8, 9};
  const std::vector<std::vector<std::pair<std::string, Raw>>> maps = {
      {{"arbitration_id", {0xCD, 8, 0}}, {"is_extended_id", no}},       // 0x800 in 11 bits
      {{"arbitration_id", {0xCE, 0x20, 0, 0, 0}}},                      // 30 bits
      {{"arbitration_id", {0xFF}}},                                     // -1
      {{"arbitration_id", {0xCB, 0, 0, 0, 0, 0, 0, 0, 0}}},             // float
      {{"arbitration_id", {5}}, {"data", nine}},                        // classical, 9 bytes
      {{"arbitration_id", {5}}, {"data", nine}, {"is_fd", yes}},        // FD has no length 9
      {{"arbitration_id", {5}}, {"data", {0xC4, 1, 1}}, {"dlc", {2}}},  // length and data differ
      {{"arbitration_id", {5}}, {"data", {0xA1, 'x'}}},                 // text for data
      {{"arbitration_id", {5}}, {"data", {0x91, 0xCD, 1, 0}}},          // 256 for a byte
      {{"arbitration_id", {5}}, {"is_remote_frame", yes}, {"is_fd", yes}},
      {{"arbitration_id", {5}}, {"is_remote_frame", yes}, {"data", {0xC4, 1, 1}}},
      {{"arbitration_id", {5}}, {"is_remote_frame", yes}, {"is_error_frame", yes}},
      {{"arbitration_id", {5}}, {"bitrate_switch", yes}},  // not FD
      {{"arbitration_id", {5}}, {"is_fd", {1}}},           // number for a flag
  };
  for (std::size_t i = 0; i < maps.size(); ++i) {
    EXPECT_EQ(DecodeDatagram(MapOf(maps[i])), std::nullopt) << i;
  }
}

TEST(FrameDatagram, WhatIsNoMapOrMoreThanOneIsMalformed) {
  EXPECT_EQ(DecodeDatagram({}), std::nullopt);
  EXPECT_EQ(DecodeDatagram(Bytes("DEADBEEF")), std::nullopt);
  EXPECT_EQ(DecodeDatagram(Bytes("C0")), std::nullopt);
  Raw twice = Bytes(PythonCanExamples()[0].hex);
  const Raw once = twice;
  twice.insert(twice.end(), once.begin(), once.end());
  EXPECT_EQ(DecodeDatagram(twice), std::nullopt);
  EXPECT_EQ(DecodeDatagram(Bytes("8101C0")), std::nullopt);  // a key that is no string
}

}  // namespace
}  // namespace drycrank::io
