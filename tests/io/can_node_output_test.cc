// SPDX-License-Identifier: Apache-2.0
//
// Against the twin of a node, on a bus inside the process. The node lives while the output waits.
#include "io/can_node_output.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <memory>
#include <string>

#include "bus/inproc_bus.h"
#include "protocol/io_node.h"

namespace drycrank::io {
namespace {

using output::Given;

// A node with eight switches and two analogue outputs of 10 V at 32767, and its end of the bus.
class NodeClock : public ManualClock {
 public:
  void WaitUntil(TimeNs due_ns, std::span<const int> descriptors) override {
    ManualClock::WaitUntil(due_ns, descriptors);
    Live();
  }
  void Live() {
    while (const auto frame = end_.Receive()) node_.OnFrame(*frame);
    bus::TimedFrame out;
    while (node_.NextDue() <= Now() && node_.TakeDue(Now(), out)) end_.Send(out.frame);
  }
  std::shared_ptr<bus::InprocHub> hub() { return hub_; }
  protocol::IoNode& node() { return node_; }

 private:
  std::shared_ptr<bus::InprocHub> hub_ = std::make_shared<bus::InprocHub>(*this);
  bus::InprocBus end_{hub_};
  protocol::IoNode node_{5, 1, 2};
};

class CanNodeOutputTest : public testing::Test {
 protected:
  CanNodeOutputTest() {
    auto clock = std::make_unique<NodeClock>();
    clock_ = clock.get();
    auto end = std::make_unique<bus::InprocBus>(clock->hub());
    const output::Steps volts = output::StepsBetween(0, 10, 0, 32767);
    output_ = std::make_unique<CanNodeOutput>(
        std::move(clock), std::move(end), 5, 127,
        std::vector<CanNodeChannel>{{.output = 2, .safe_closed = true},
                                    {.output = 6},
                                    {.output = 1, .volts = volts, .safe_v = 1}});
  }
  void PassMs(int ms, bool with_us = true) {
    for (int i = 0; i < ms; ++i) {
      if (with_us) output_->Beat(0);
      clock_->WaitUntil(clock_->Now() + kNsPerMs, {});
    }
  }
  void ExpectSafe() {
    EXPECT_TRUE(clock_->node().Output(2));
    EXPECT_FALSE(clock_->node().Output(6));
    EXPECT_EQ(clock_->node().Analogue(1), 3277);  // 1 V of 10 V at 32767
  }

  NodeClock* clock_ = nullptr;
  std::unique_ptr<CanNodeOutput> output_;
};

TEST_F(CanNodeOutputTest, OpenSendsNothing) {
  EXPECT_EQ(output_->Open(), "");
  PassMs(300);
  EXPECT_EQ(clock_->node().state(), protocol::NmtState::kStarting);
}

TEST_F(CanNodeOutputTest, ArmedItIsSafeAndThenWhatItIsGiven) {
  ASSERT_EQ(output_->Open(), "");
  ASSERT_EQ(output_->Arm(), "");
  PassMs(5);
  ExpectSafe();
  output_->Give({0, 0, Source{SourceKind::kResistance, 1e6}});
  output_->Give({0, 1, Source{SourceKind::kSwitched, 1}});
  output_->Give({0, 2, Source{SourceKind::kSupplyFraction, 0.5}});  // 2.5 V
  PassMs(2);
  EXPECT_FALSE(clock_->node().Output(2));
  EXPECT_TRUE(clock_->node().Output(6));
  EXPECT_EQ(clock_->node().Analogue(1), 8192);
  output_->Disarm();
  clock_->Live();
  ExpectSafe();
  EXPECT_EQ(output_->failure(), "");
}

TEST_F(CanNodeOutputTest, WithoutUsTheNodeIsSafeByItself) {
  ASSERT_EQ(output_->Arm(), "");
  output_->Give({0, 1, Source{SourceKind::kSwitched, 1}});
  PassMs(5);
  EXPECT_TRUE(clock_->node().Output(6));
  PassMs(151, false);
  ExpectSafe();
}

TEST_F(CanNodeOutputTest, ANodeThatIsGoneIsAFailureWithWhatItLastTold) {
  ASSERT_EQ(output_->Arm(), "");
  clock_->node().Report(clock_->Now(), {0x3120, 0x05});
  PassMs(2);
  clock_->node().Unplug();
  PassMs(200);
  EXPECT_EQ(output_->failure(),
            "I/O node 5: nothing heard of it for 150 ms; is its supply on, is it on "
            "the bus?; it last told 3120h voltage");
}

TEST_F(CanNodeOutputTest, NobodyThereIsNotArmed) {
  clock_->node().Unplug();
  EXPECT_THAT(output_->Arm(), testing::HasSubstr("does not answer a reset"));
}

}  // namespace
}  // namespace drycrank::io
