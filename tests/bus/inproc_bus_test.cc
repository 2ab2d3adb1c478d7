// SPDX-License-Identifier: Apache-2.0
#include "bus/inproc_bus.h"

#include <gtest/gtest.h>

#include "tests/bus/build_signal.h"

namespace drycrank::bus {
namespace {

class InprocBusTest : public testing::Test {
 protected:
  ManualClock clock_;
  std::shared_ptr<InprocHub> hub_ = std::make_shared<InprocHub>(clock_, 2, 3);
  InprocBus a_{hub_};
  InprocBus b_{hub_};
  InprocBus c_{hub_};
};

TEST_F(InprocBusTest, AllOthersReceiveAndTheSenderDoesNot) {
  clock_.Advance(500);
  const Frame frame = FrameOf(0x123, false, "01");
  EXPECT_TRUE(a_.Send(frame));
  EXPECT_FALSE(a_.Receive().has_value());
  for (InprocBus* end : {&b_, &c_}) {
    const std::optional<TimedFrame> got = end->Receive();
    ASSERT_TRUE(got.has_value());
    EXPECT_EQ(got->frame, frame);
    EXPECT_EQ(got->t_ns, 500);
    EXPECT_EQ(got->bus, 2);
    EXPECT_FALSE(got->sent);
    EXPECT_EQ(end->counters().received, 1u);
  }
  EXPECT_EQ(a_.counters().sent, 1u);
}

TEST_F(InprocBusTest, OrderOfSendingIsOrderOfReception) {
  a_.Send(FrameOf(3, false, ""));
  b_.Send(FrameOf(1, false, ""));
  a_.Send(FrameOf(2, false, ""));
  EXPECT_EQ(c_.Receive()->frame.id, 3u);
  EXPECT_EQ(c_.Receive()->frame.id, 1u);
  EXPECT_EQ(c_.Receive()->frame.id, 2u);
}

TEST_F(InprocBusTest, FullQueueLosesTheNewestAndSaysSoOnce) {
  for (std::uint32_t id = 0; id < 5; ++id) a_.Send(FrameOf(id, false, ""));
  EXPECT_EQ(b_.counters().receive_lost, 2u);
  EXPECT_EQ(b_.NextEvent(), BusEvent::kOverrun);
  EXPECT_EQ(b_.NextEvent(), std::nullopt);
  for (std::uint32_t id = 0; id < 3; ++id) EXPECT_EQ(b_.Receive()->frame.id, id);
  EXPECT_FALSE(b_.Receive().has_value());
}

TEST_F(InprocBusTest, InvalidFrameIsRefused) {
  EXPECT_FALSE(a_.Send(FrameOf(0x800, false, "")));
  EXPECT_EQ(a_.counters().send_refused, 1u);
  EXPECT_FALSE(b_.Receive().has_value());
}

TEST_F(InprocBusTest, DownRefusesUntilUp) {
  hub_->Report(BusEvent::kDown);
  EXPECT_EQ(a_.NextEvent(), BusEvent::kDown);
  EXPECT_FALSE(a_.Send(FrameOf(1, false, "")));
  hub_->Report(BusEvent::kUp);
  EXPECT_EQ(a_.NextEvent(), BusEvent::kUp);
  EXPECT_TRUE(a_.Send(FrameOf(1, false, "")));
  EXPECT_TRUE(b_.Receive().has_value());
}

TEST_F(InprocBusTest, AnEndMayLeave) {
  {
    InprocBus gone(hub_);
    a_.Send(FrameOf(1, false, ""));
  }
  EXPECT_TRUE(a_.Send(FrameOf(2, false, "")));
}

TEST(BusEvents, EachHasAName) {
  EXPECT_STREQ(Name(BusEvent::kBusOff), "bus off");
  EXPECT_STREQ(Name(BusEvent::kSendQueueFull), "send queue full");
}

}  // namespace
}  // namespace drycrank::bus
