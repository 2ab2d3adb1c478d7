// SPDX-License-Identifier: Apache-2.0
#include "bus/confirmations.h"

#include <gtest/gtest.h>

#include "bus/event_queue.h"

namespace drycrank::bus {
namespace {

Frame WithId(std::uint32_t id) {
  Frame frame;
  frame.id = id;
  return frame;
}

class ConfirmationsTest : public testing::Test {
 protected:
  BusCounters counters_;
  Confirmations confirmations_{counters_, 4};
};

TEST_F(ConfirmationsTest, OutOfOrderIsConfirmedToo) {
  for (const std::uint32_t id : {1u, 2u, 3u}) confirmations_.OnSent(WithId(id), 0);
  for (const std::uint32_t id : {2u, 1u, 3u}) EXPECT_TRUE(confirmations_.OnEcho(WithId(id)));
  EXPECT_EQ(counters_.confirmed, 3u);
  EXPECT_FALSE(confirmations_.Expire(kNsPerS));
  EXPECT_EQ(counters_.unconfirmed, 0u);
}

TEST_F(ConfirmationsTest, WhatDoesNotComeIsUnconfirmedAndSaidOnce) {
  confirmations_.OnSent(WithId(1), 0);
  confirmations_.OnSent(WithId(2), 0);
  EXPECT_TRUE(confirmations_.OnEcho(WithId(2)));
  EXPECT_FALSE(confirmations_.Expire(kConfirmWithinNs - 1));
  EXPECT_TRUE(confirmations_.Expire(kConfirmWithinNs));
  EXPECT_FALSE(confirmations_.Expire(2 * kConfirmWithinNs));
  EXPECT_EQ(counters_.unconfirmed, 1u);
}

TEST_F(ConfirmationsTest, LateIsBetterThanNever) {
  confirmations_.OnSent(WithId(1), 0);
  EXPECT_TRUE(confirmations_.Expire(kNsPerS));
  EXPECT_TRUE(confirmations_.OnEcho(WithId(1)));
  EXPECT_EQ(counters_.confirmed, 1u);
  EXPECT_EQ(counters_.unconfirmed, 0u);
}

TEST_F(ConfirmationsTest, SwallowedFramesAreBoundedAndAllCounted) {
  for (std::uint32_t id = 0; id < 100; ++id) confirmations_.OnSent(WithId(id), 0);
  EXPECT_TRUE(confirmations_.Expire(1));  // room for four: the others count at once
  EXPECT_EQ(counters_.unconfirmed, 96u);
  confirmations_.GiveUp();
  EXPECT_EQ(counters_.unconfirmed, 100u);
  EXPECT_FALSE(confirmations_.OnEcho(WithId(99)));
}

TEST_F(ConfirmationsTest, AnotherFrameIsNoConfirmation) {
  confirmations_.OnSent(WithId(1), 0);
  EXPECT_FALSE(confirmations_.OnEcho(WithId(2)));
  EXPECT_EQ(counters_.confirmed, 0u);
}

TEST(EventQueue, AFloodOfReportsIsOneEventOfEachKind) {
  EventQueue queue;
  for (int i = 0; i < 1000; ++i) {
    queue.Push(BusEvent::kNoAcknowledge);
    queue.Push(BusEvent::kBusError);
  }
  EXPECT_EQ(queue.Pop(), BusEvent::kNoAcknowledge);
  EXPECT_EQ(queue.Pop(), BusEvent::kBusError);
  EXPECT_EQ(queue.Pop(), std::nullopt);
}

TEST(EventQueue, TheLastStateIsNeverLost) {
  EventQueue queue;
  for (int i = 0; i < 1000; ++i) {
    queue.Push(BusEvent::kDown);
    queue.Push(BusEvent::kUp);
  }
  queue.Push(BusEvent::kBusOff);
  std::optional<BusEvent> last;
  int count = 0;
  while (const auto event = queue.Pop()) last = event, ++count;
  EXPECT_EQ(last, BusEvent::kBusOff);
  EXPECT_LE(count, 64);
}

}  // namespace
}  // namespace drycrank::bus
