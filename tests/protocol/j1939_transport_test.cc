// SPDX-License-Identifier: Apache-2.0
//
// SAE J1939-21, transport protocol; control bytes from tests/reference/j1939_id.yaml. Worked for
// PGN FECA and 20 bytes: 20 = 14 hex, three packets.
#include "protocol/j1939_transport.h"

#include <gtest/gtest.h>

#include <numeric>

#include "tests/bus/build_signal.h"
#include "tests/bus/count_allocations.h"
#include "types/random.h"

namespace drycrank::protocol {
namespace {

using bus::Bytes;
using bus::DataOf;
using bus::Frame;
using bus::FrameOf;
using Text = std::vector<std::uint8_t>;

constexpr J1939Id kToAll{6, kPgnDm1, kGlobalAddress, 0x00};
constexpr J1939Id kToUs{6, 0xEF00, 0x20, 0x00};

Text Counting(std::size_t length) {
  Text bytes(length);
  std::iota(bytes.begin(), bytes.end(), std::uint8_t{1});
  return bytes;
}

class J1939TransportTest : public testing::Test {
 protected:
  template <class CopiesOf>
  void Run(TimeNs until_ns, CopiesOf copies_of) {
    while (true) {
      const TimeNs due_ns = std::min(sender_.NextDue(), receiver_.NextDue());
      if (due_ns > until_ns) return;
      t_ns_ = std::max(t_ns_, due_ns);
      Frame frame;
      while (sender_.TakeDue(t_ns_, frame)) {
        Note(frame);
        for (int copies = copies_of(frame); copies > 0; --copies) receiver_.OnFrame(t_ns_, frame);
      }
      while (receiver_.TakeDue(t_ns_, frame)) {
        Note(frame);
        for (int copies = copies_of(frame); copies > 0; --copies) sender_.OnFrame(t_ns_, frame);
      }
    }
  }
  void Run(TimeNs until_ns = 100 * kNsPerS) {
    Run(until_ns, [](const Frame&) { return 1; });
  }
  void Note(const Frame& frame) {
    wire_.push_back(frame);
    times_ns_.push_back(t_ns_);
  }
  Text Received() {
    const auto message = receiver_.TakeMessage();
    if (!message) return {};
    id_ = message->id;
    return {message->bytes.begin(), message->bytes.end()};
  }

  J1939Sender sender_;
  J1939Receiver receiver_{0x20};
  TimeNs t_ns_ = 0;
  std::vector<Frame> wire_;
  std::vector<TimeNs> times_ns_;
  J1939Id id_;
};

TEST_F(J1939TransportTest, BroadcastIsAnnouncedAndSpread) {
  ASSERT_TRUE(sender_.Send(0, kToAll, Counting(20)));
  Run();
  ASSERT_EQ(wire_.size(), 4u);
  EXPECT_EQ(wire_[0], FrameOf(0x1CECFF00, true, "20140003FFCAFE00"));
  EXPECT_EQ(wire_[1], FrameOf(0x1CEBFF00, true, "0101020304050607"));
  EXPECT_EQ(wire_[3], FrameOf(0x1CEBFF00, true, "030F1011121314FF"));
  EXPECT_EQ(times_ns_[3], 150 * kNsPerMs);
  EXPECT_EQ(Received(), Counting(20));
  EXPECT_EQ(id_.pgn, kPgnDm1);
  EXPECT_EQ(id_.source, 0x00);
}

TEST_F(J1939TransportTest, SessionIsRequestedClearedAndAcknowledged) {
  receiver_.set_block(2);
  ASSERT_TRUE(sender_.Send(0, kToUs, Counting(20)));
  Run();
  ASSERT_EQ(wire_.size(), 7u);
  EXPECT_EQ(wire_[0], FrameOf(0x1CEC2000, true, "10140003FF00EF00"));
  EXPECT_EQ(wire_[1], FrameOf(0x1CEC0020, true, "110201FFFF00EF00"));
  EXPECT_EQ(wire_[2], FrameOf(0x1CEB2000, true, "0101020304050607"));
  EXPECT_EQ(wire_[4], FrameOf(0x1CEC0020, true, "110103FFFF00EF00"));
  EXPECT_EQ(wire_[6], FrameOf(0x1CEC0020, true, "13140003FF00EF00"));
  EXPECT_EQ(Received(), Counting(20));
  EXPECT_FALSE(sender_.sending());
}

TEST_F(J1939TransportTest, EveryLengthArrives) {
  for (std::size_t length = 9; length <= kMaxJ1939Bytes; length += length < 30 ? 1 : 97) {
    ASSERT_TRUE(sender_.Send(t_ns_, kToUs, Counting(length)));
    Run();
    ASSERT_EQ(Received(), Counting(length)) << length;
  }
  ASSERT_TRUE(sender_.Send(t_ns_, kToUs, Counting(kMaxJ1939Bytes)));
  Run();
  EXPECT_EQ(Received(), Counting(kMaxJ1939Bytes));
}

TEST_F(J1939TransportTest, RefusesWhatItCannotSend) {
  EXPECT_FALSE(sender_.Send(0, kToUs, Counting(8)));  // fits a frame
  EXPECT_FALSE(sender_.Send(0, kToUs, Counting(1786)));
  EXPECT_TRUE(sender_.Send(0, kToUs, Counting(9)));
  EXPECT_FALSE(sender_.Send(0, kToUs, Counting(9)));
}

TEST_F(J1939TransportTest, LostPacketIsAskedForAgain) {
  int seen = 0;
  ASSERT_TRUE(sender_.Send(0, kToUs, Counting(40)));
  Run(kNsPerS * 5, [&](const Frame& f) {
    const bool packet_3 = SplitId(f.id).pgn == kPgnTransportData && f.data[0] == 3;
    return packet_3 && seen++ == 0 ? 0 : 1;
  });
  EXPECT_EQ(Received(), Counting(40));
  EXPECT_EQ(receiver_.TakeError(), J1939Error::kNone);
}

TEST_F(J1939TransportTest, PacketLostForGoodIsAnAbort) {
  ASSERT_TRUE(sender_.Send(0, kToUs, Counting(40)));
  Run(kNsPerS * 20, [&](const Frame& f) {
    return SplitId(f.id).pgn == kPgnTransportData && f.data[0] == 3 ? 0 : 1;
  });
  EXPECT_TRUE(Received().empty());
  EXPECT_EQ(receiver_.TakeError(), J1939Error::kWrongSequence);
  EXPECT_EQ(sender_.TakeError(), J1939Error::kAborted);
  EXPECT_EQ(sender_.abort_reason(), 7);  // bad sequence number
}

TEST_F(J1939TransportTest, DoubledPacketsAreHarmlessToOne) {
  ASSERT_TRUE(sender_.Send(0, kToUs, Counting(40)));
  Run(kNsPerS, [&](const Frame& f) { return SplitId(f.id).pgn == kPgnTransportData ? 2 : 1; });
  EXPECT_EQ(Received(), Counting(40));
}

TEST_F(J1939TransportTest, LostBroadcastPacketLosesTheMessage) {
  ASSERT_TRUE(sender_.Send(0, kToAll, Counting(40)));
  Run(kNsPerS, [&](const Frame& f) { return f.data[0] == 3 ? 0 : 1; });
  EXPECT_TRUE(Received().empty());
  EXPECT_EQ(receiver_.TakeError(), J1939Error::kWrongSequence);
}

TEST_F(J1939TransportTest, SilentReceiverRunsOutOfTime) {
  ASSERT_TRUE(sender_.Send(0, kToUs, Counting(40)));
  Run(10 * kNsPerS, [&](const Frame& f) { return SplitId(f.id).source == 0x20 ? 0 : 1; });
  EXPECT_EQ(sender_.TakeError(), J1939Error::kTimeout);
  EXPECT_EQ(wire_.back().data[0], 0xFF);  // it says that it gave up
}

TEST_F(J1939TransportTest, SilentSenderFreesTheSession) {
  receiver_.OnFrame(0, FrameOf(0x1CECFF00, true, "20140003FFCAFE00"));
  Run(749 * kNsPerMs);
  EXPECT_EQ(receiver_.TakeError(), J1939Error::kNone);
  Run(750 * kNsPerMs);
  EXPECT_EQ(receiver_.TakeError(), J1939Error::kTimeout);
}

TEST_F(J1939TransportTest, HoldIsWaitedFor) {
  ASSERT_TRUE(sender_.Send(0, kToUs, Counting(20)));
  Frame frame;
  ASSERT_TRUE(sender_.TakeDue(0, frame));
  sender_.OnFrame(0, FrameOf(0x1CEC0020, true, "1100FFFFFF00EF00"));
  EXPECT_EQ(sender_.NextDue(), 1050 * kNsPerMs);  // T4
}

TEST_F(J1939TransportTest, MoreSessionsThanRoomAreRefused) {
  for (std::uint32_t source = 1; source <= J1939Receiver::kSessions; ++source) {
    receiver_.OnFrame(0, FrameOf(0x1CEC2000 | source, true, "10140003FF00EF00"));
  }
  Frame frame;
  int cleared = 0;
  while (receiver_.TakeDue(0, frame)) cleared += frame.data[0] == 0x11;
  EXPECT_EQ(cleared, 8);
  receiver_.OnFrame(0, FrameOf(0x1CEC2030, true, "10140003FF00EF00"));
  ASSERT_TRUE(receiver_.TakeDue(0, frame));
  EXPECT_EQ(frame, FrameOf(0x1CEC3020, true, "FF01FFFFFF00EF00"));  // abort: busy
  EXPECT_EQ(receiver_.TakeError(), J1939Error::kNoRoom);
}

TEST_F(J1939TransportTest, LengthThatDoesNotFitItsPacketsIsRefused) {
  receiver_.OnFrame(0, FrameOf(0x1CECFF00, true, "20140004FFCAFE00"));
  receiver_.OnFrame(0, FrameOf(0x1CECFF00, true, "20FAFFFFFFCAFE00"));
  EXPECT_EQ(receiver_.errors().count(J1939Error::kNoRoom), 2u);
  EXPECT_EQ(receiver_.NextDue(), kNever);
}

TEST_F(J1939TransportTest, HostileFramesDoNoHarm) {
  Random random(7, 2);
  Frame frame, out;
  frame.extended = true;
  const std::size_t before = bus::Allocations();
  constexpr std::uint8_t kControls[] = {0x10, 0x11, 0x13, 0x20, 0xFF, 0x00};
  for (TimeNs t_ns = 0; t_ns < 300'000; ++t_ns) {
    const std::uint64_t bits = random.Next();
    frame.id = (bits & 1 ? 0x1CEC0000u : 0x1CEB0000u) | (bits & 2 ? 0x2000u : 0xFF00u) |
               (bits >> 8 & 0x0F);
    frame.length = static_cast<std::uint8_t>(bits & 0x30 ? 8 : bits % 9);
    for (std::size_t i = 0; i < 8; ++i) frame.data[i] = static_cast<std::uint8_t>(bits >> (7 * i));
    if (bits & 1) frame.data[0] = kControls[(bits >> 56) % 6];
    if (bits & 4) frame.data[0] &= 3, frame.data[2] = 0, frame.data[3] = 3, frame.data[1] = 20;
    receiver_.OnFrame(t_ns * kNsPerMs, frame);
    sender_.OnFrame(t_ns * kNsPerMs, frame);
    for (int i = 0; i < 20 && receiver_.TakeDue(t_ns * kNsPerMs, out); ++i) {
      ASSERT_TRUE(bus::IsValid(out));
    }
    const auto message = receiver_.TakeMessage();
    ASSERT_LE(message ? message->bytes.size() : 0, 1785u);
  }
  EXPECT_EQ(bus::Allocations(), before);
}

}  // namespace
}  // namespace drycrank::protocol
