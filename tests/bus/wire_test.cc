// SPDX-License-Identifier: Apache-2.0
#include "bus/wire.h"

#include <gtest/gtest.h>

#include "bus/response_time.h"
#include "tests/bus/build_signal.h"
#include "tests/bus/count_allocations.h"

namespace drycrank::bus {
namespace {

profile::Bus BusOf(double bitrate_bps, std::size_t messages) {
  profile::Bus bus;
  bus.bitrate_bps = bitrate_bps;
  bus.messages.resize(messages);
  return bus;
}

// At 1 Mbit/s a bit is 1 us; the all-zero frame has 53 bits (frame_bits_test.cc), 3 of them after
// it.
class WireTest : public testing::Test {
 protected:
  static constexpr TimeNs kUs = kNsPerUs;
  // Runs the wire up to t_ns; what arrives, as "id@us".
  std::string Play(TimeNs t_ns) {
    std::string out;
    while (wire_.NextDueNs() <= t_ns) {
      const TimeNs now_ns = wire_.NextDueNs();
      if (const Wire::Sent* sent = wire_.TakeSent(now_ns)) {
        out += std::to_string(sent->frame.id) + "@" + std::to_string(sent->received_ns / kUs) + " ";
      }
      wire_.Begin(now_ns);
    }
    return out;
  }
  void Queue(std::uint32_t id, TimeNs t_ns, int mailbox = Wire::kNoMailbox) {
    EXPECT_TRUE(wire_.Queue(FrameOf(id, false, ""), 7, mailbox, t_ns));
  }
  Wire wire_{BusOf(1e6, 3), 4};
};

TEST_F(WireTest, AFrameTakesItsBits) {
  EXPECT_EQ(wire_.NextDueNs(), kNever);
  Queue(0, 100 * kUs);
  wire_.Begin(100 * kUs);
  EXPECT_EQ(wire_.NextDueNs(), 150 * kUs);
  EXPECT_EQ(wire_.TakeSent(150 * kUs - 1), nullptr);
  const Wire::Sent* sent = wire_.TakeSent(150 * kUs);
  ASSERT_NE(sent, nullptr);
  EXPECT_EQ(sent->queued_ns, 100 * kUs);
  EXPECT_EQ(sent->received_ns, 150 * kUs);
  EXPECT_EQ(sent->sender, 7);
  EXPECT_EQ(wire_.busy_ns(), 53 * kUs);
  EXPECT_EQ(wire_.NextDueNs(), kNever);
}

TEST_F(WireTest, TheNextBeginsAfterTheIntermission) {
  Queue(0, 0);
  Queue(0, 0);
  wire_.Begin(0);
  EXPECT_EQ(Play(200 * kUs), "0@50 0@103 ");
}

TEST_F(WireTest, TheLowestIdentifierGoesFirstAndNobodyIsInterrupted) {
  Queue(0x7F0, 0);
  wire_.Begin(0);
  Queue(0x300, 10 * kUs);
  Queue(0x200, 20 * kUs);
  const std::string order = Play(kNsPerMs);
  EXPECT_LT(order.find("2032@"), order.find("512@"));
  EXPECT_LT(order.find("512@"), order.find("768@"));
}

TEST_F(WireTest, OfOneIdentifierTheFirstGoesFirst) {
  ASSERT_TRUE(wire_.Queue(FrameOf(5, false, "01"), 0, Wire::kNoMailbox, 0));
  ASSERT_TRUE(wire_.Queue(FrameOf(5, false, "02"), 0, Wire::kNoMailbox, 0));
  wire_.Begin(0);
  EXPECT_EQ(wire_.TakeSent(kNsPerMs)->frame.data[0], 1);
}

TEST_F(WireTest, ANewerValueTakesThePlaceOfOneThatStillWaits) {
  Queue(1, 0);
  wire_.Begin(0);
  ASSERT_TRUE(wire_.Queue(FrameOf(5, false, "01"), 0, 2, 10 * kUs));
  ASSERT_TRUE(wire_.Queue(FrameOf(5, false, "02"), 0, 2, 20 * kUs));
  EXPECT_EQ(wire_.mailboxes()[2].replaced, 1u);
  ASSERT_NE(wire_.TakeSent(100 * kUs), nullptr);
  wire_.Begin(100 * kUs);
  const Wire::Sent* sent = wire_.TakeSent(kNsPerMs);
  ASSERT_NE(sent, nullptr);
  EXPECT_EQ(sent->frame.data[0], 2);
  EXPECT_EQ(sent->queued_ns, 20 * kUs);
  EXPECT_EQ(wire_.mailboxes()[2].sent, 1u);
  EXPECT_EQ(wire_.mailboxes()[2].worst_response_ns, sent->received_ns - 20 * kUs);
  EXPECT_EQ(wire_.NextDueNs(), kNever);
}

TEST_F(WireTest, TwoOfOneInstantBothGo) {
  Queue(0, 0, 1);
  Queue(0, 0, 1);
  wire_.Begin(0);
  EXPECT_EQ(Play(kNsPerMs), "0@50 0@103 ");
}

TEST_F(WireTest, AFullQueueRefusesAndCounts) {
  for (int i = 0; i < 4 + 2 * 3; ++i) Queue(1, 0);  // 4 asked for, two for each of 3 mailboxes
  EXPECT_FALSE(wire_.Queue(FrameOf(1, false, ""), 0, Wire::kNoMailbox, 0));
  EXPECT_FALSE(wire_.Queue(FrameOf(0x800, false, ""), 0, Wire::kNoMailbox, 0));
  EXPECT_EQ(wire_.refused(), 2u);
}

TEST_F(WireTest, TakesNoMemory) {
  const std::size_t before = Allocations();
  for (TimeNs t_ns = 0; t_ns < kNsPerS; t_ns += kNsPerMs) {
    for (int m = 0; m < 3; ++m) Queue(static_cast<std::uint32_t>(m), t_ns, m);
    wire_.Begin(t_ns);
    while (wire_.NextDueNs() < t_ns + kNsPerMs) {
      const TimeNs now_ns = wire_.NextDueNs();
      wire_.TakeSent(now_ns);
      wire_.Begin(now_ns);
    }
  }
  EXPECT_EQ(Allocations(), before);
  EXPECT_EQ(wire_.mailboxes()[0].sent, 1000u);
}

}  // namespace
}  // namespace drycrank::bus
