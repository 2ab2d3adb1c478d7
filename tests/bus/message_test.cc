// SPDX-License-Identifier: Apache-2.0
//
// Whole messages: multiplexing, counter, checksum, and what a frame of the wrong kind gives.
#include <gtest/gtest.h>

#include <cmath>

#include "bus/layout.h"
#include "tests/bus/build_signal.h"

namespace drycrank::bus {
namespace {

using profile::ChecksumKind;
using profile::Multiplex;

profile::Signal Selected(profile::Signal signal, std::int64_t value) {
  signal.multiplex = Multiplex::kSelected;
  signal.multiplex_value = value;
  return signal;
}

profile::Message Multiplexed() {
  profile::Signal selector = Little(0, 8);
  selector.multiplex = Multiplex::kSelector;
  return MessageOf({Selected(Little(8, 16), 1), selector, Selected(Big(15, 16), 2), Little(24, 8)});
}

TEST(Message, OnlySelectedSignalsAreWritten) {
  const profile::Message message = Multiplexed();
  const double with_1[] = {0x1234, 1, 0x5678, 9};
  EXPECT_EQ(DataOf(Encode(message, with_1, 0)), Bytes("0134120900000000"));
  const double with_2[] = {0x1234, 2, 0x5678, 9};
  EXPECT_EQ(DataOf(Encode(message, with_2, 0)), Bytes("0256780900000000"));
  const double with_3[] = {0x1234, 3, 0x5678, 9};
  EXPECT_EQ(DataOf(Encode(message, with_3, 0)), Bytes("0300000900000000"));
}

TEST(Message, OnlySelectedSignalsAreRead) {
  const profile::Message message = Multiplexed();
  const Frame frame = FrameOf(0x123, false, "0256780900000000");
  EXPECT_EQ(Decode(message, 0, frame), std::nullopt);
  EXPECT_EQ(Decode(message, 1, frame), 2);
  EXPECT_EQ(Decode(message, 2, frame), 0x5678);
  EXPECT_EQ(Decode(message, 3, frame), 9);
}

TEST(Message, ShortFrameHoldsOnlyWhatFits) {
  const profile::Message message = MessageOf({Little(0, 8), Little(8, 16), Big(15, 16), Big(7, 9)});
  const Frame frame = FrameOf(0x123, false, "0102");
  EXPECT_EQ(Decode(message, 0, frame), 1);
  EXPECT_EQ(Decode(message, 1, frame), std::nullopt);
  EXPECT_EQ(Decode(message, 2, frame), std::nullopt);
  EXPECT_EQ(Decode(message, 3, frame), 2);  // 0000 0001 0
  EXPECT_EQ(Decode(message, 0, FrameOf(0x123, false, "")), std::nullopt);
}

TEST(Message, SelectorBeyondTheFrameSelectsNothing) {
  profile::Signal selector = Little(56, 8);
  selector.multiplex = Multiplex::kSelector;
  const profile::Message message = MessageOf({Selected(Little(0, 8), 0), selector});
  EXPECT_EQ(Decode(message, 0, FrameOf(0x123, false, "01")), std::nullopt);
}

TEST(Message, RemoteFrameAndErrorReportCarryNothing) {
  const profile::Message message = MessageOf({Little(0, 8)});
  Frame frame = FrameOf(0x123, false, "01");
  EXPECT_TRUE(Matches(message, frame));
  frame.remote = true;
  EXPECT_FALSE(Matches(message, frame));
  EXPECT_EQ(Decode(message, 0, frame), std::nullopt);
  frame.remote = false;
  frame.error = true;
  EXPECT_FALSE(Matches(message, frame));
  EXPECT_EQ(Decode(message, 0, frame), std::nullopt);
}

TEST(Message, StandardAndExtendedIdentifiersDiffer) {
  const profile::Message message = MessageOf({});
  EXPECT_TRUE(Matches(message, FrameOf(0x123, false, "")));
  EXPECT_FALSE(Matches(message, FrameOf(0x123, true, "")));
  EXPECT_FALSE(Matches(message, FrameOf(0x124, false, "")));
}

TEST(Message, EncodeGivesTheFrameItsKind) {
  profile::Message message = MessageOf({});
  message.id = 0x18FEEE00;
  message.extended = message.fd = message.bit_rate_switch = true;
  message.length_bytes = 48;
  const Frame frame = Encode(message, {}, 0);
  EXPECT_TRUE(IsValid(frame));
  EXPECT_TRUE(frame.extended && frame.fd && frame.bit_rate_switch);
  EXPECT_EQ(frame.length, 48);
  EXPECT_EQ(frame.id, 0x18FEEE00u);
}

TEST(Message, CounterWrapsAtItsLength) {
  profile::Message message = MessageOf({Little(4, 4)});
  message.counter_signal = 0;
  const double unused[] = {7};
  EXPECT_EQ(CounterOf(message, Encode(message, unused, 15)), 15u);
  EXPECT_EQ(CounterOf(message, Encode(message, unused, 16)), 0u);
  EXPECT_EQ(DataOf(Encode(message, unused, 3))[0], 0x30);
}

// AUTOSAR, Specification of CRC Routines: F2 01 83 has CRC8 0x37 and CRC8H2F 0xC2.
TEST(Message, ChecksumCoversAllOtherBytesInOrder) {
  profile::Message message = MessageOf({Big(7, 8), Little(8, 8), Big(23, 16)});
  message.length_bytes = 4;
  message.checksum_signal = 1;  // byte 1: F2 xx 01 83
  const double values[] = {0xF2, 0, 0x0183};
  message.checksum = ChecksumKind::kCrc8SaeJ1850;
  const Frame j1850 = Encode(message, values, 0);
  EXPECT_EQ(DataOf(j1850), Bytes("F2370183"));
  EXPECT_TRUE(ChecksumIsRight(message, j1850));
  message.checksum = ChecksumKind::kCrc8Autosar;
  EXPECT_EQ(DataOf(Encode(message, values, 0)), Bytes("F2C20183"));
  EXPECT_FALSE(ChecksumIsRight(message, j1850));
}

TEST(Message, ChecksumTellsAWrongBitAndAShortFrame) {
  profile::Message message = MessageOf({Little(0, 8), Little(56, 8)});
  message.checksum_signal = 1;
  message.checksum = ChecksumKind::kCrc8Autosar;
  const double values[] = {5, 0};
  Frame frame = Encode(message, values, 0);
  EXPECT_TRUE(ChecksumIsRight(message, frame));
  frame.data[3] ^= 1;
  EXPECT_FALSE(ChecksumIsRight(message, frame));
  EXPECT_FALSE(ChecksumIsRight(message, FrameOf(0x123, false, "05")));
  message.checksum = ChecksumKind::kNone;
  EXPECT_TRUE(ChecksumIsRight(message, frame));
}

// SAE J1939-71: of a parameter of one byte 0xFF says "not available", from memory.
TEST(Message, NotAvailableIsNoValue) {
  profile::Signal signal = Little(0, 8);
  signal.not_available = 0xFF;
  const profile::Message message = MessageOf({signal});
  const double none[] = {std::nan("")};
  EXPECT_EQ(DataOf(Encode(message, none, 0)), Bytes("FF00000000000000"));
  EXPECT_EQ(Decode(message, 0, FrameOf(0x123, false, "FF00000000000000")), std::nullopt);
  EXPECT_EQ(Decode(message, 0, FrameOf(0x123, false, "FE00000000000000")), 254.0);
}

// Whoever shows a frame reads the value; whoever judges asks first whether it was measured.
TEST(Message, AValueIsMeasuredWhenItsOtherSignalSaysSo) {
  profile::Signal angle = Little(8, 8);
  angle.valid_signal = 0;
  angle.valid_equals = 3;
  const profile::Message message = MessageOf({Little(0, 8), angle});
  const Frame searching = FrameOf(0x123, false, "0100000000000000");
  EXPECT_EQ(Decode(message, 1, searching), 0.0);
  EXPECT_EQ(Measured(message, 1, searching), std::nullopt);
  EXPECT_EQ(Measured(message, 1, FrameOf(0x123, false, "0300000000000000")), 0.0);
  EXPECT_EQ(Measured(message, 0, searching), 1.0);
}

}  // namespace
}  // namespace drycrank::bus
