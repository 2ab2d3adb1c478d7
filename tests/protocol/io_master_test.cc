// SPDX-License-Identifier: Apache-2.0
//
// The master and the twin of a node on a bus inside the process.
#include "protocol/io_master.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <memory>
#include <string>
#include <vector>

#include "bus/inproc_bus.h"
#include "protocol/io_node.h"
#include "tests/bus/build_signal.h"

namespace drycrank::protocol {
namespace {

using bus::Frame;
using bus::FrameOf;
using State = IoMaster::State;

// Node 5 with sixteen outputs and two analogue ones; safe: outputs 0 and 9 on, analogue -100 and 20.
class IoMasterTest : public testing::Test {
 protected:
  void PassMs(int ms) {
    const TimeNs end_ns = clock_.Now() + ms * kNsPerMs;
    while (clock_.Now() < end_ns) {
      clock_.Advance(kNsPerMs);
      Send(master_, master_end_);
      Hear(node_, node_end_);
      Send(node_, node_end_);
      Hear(master_, master_end_);
    }
  }
  void RunUp() {
    node_.PowerOn(clock_.Now());
    master_.Start(clock_.Now());
    PassMs(200);
    ASSERT_EQ(master_.state(), State::kRunning) << master_.failure();
  }
  // Without the frames of the time before.
  std::vector<Frame> SentIn(int ms) {
    sent_.clear();
    PassMs(ms);
    return sent_;
  }
  void ExpectSafe() {
    for (int i = 0; i < 16; ++i) EXPECT_EQ(node_.Output(i), i == 0 || i == 9) << i;
    EXPECT_EQ(node_.Analogue(0), -100);
    EXPECT_EQ(node_.Analogue(1), 20);
  }

  ManualClock clock_;
  std::shared_ptr<bus::InprocHub> hub_ = std::make_shared<bus::InprocHub>(clock_);
  bus::InprocBus master_end_{hub_}, node_end_{hub_};
  IoMaster master_{{.node = 5, .safe_bytes = {0x01, 0x02}, .safe_values = {-100, 20}}};
  IoNode node_{5, 2, 2};
  bool master_lives_ = true;
  std::vector<Frame> sent_;  // by the master

 private:
  void Send(bus::Talker& talker, bus::InprocBus& end) {
    if (&talker == &master_ && !master_lives_) return;
    bus::TimedFrame out;
    while (talker.NextDue() <= clock_.Now() && talker.TakeDue(clock_.Now(), out)) {
      end.Send(out.frame);
      if (&talker == &master_) sent_.push_back(out.frame);
    }
  }
  void Hear(bus::Talker& talker, bus::InprocBus& end) {
    while (const auto frame = end.Receive()) talker.OnFrame(*frame);
  }
};

TEST_F(IoMasterTest, WhatIsSafeIsSetBeforeItIsStarted) {
  RunUp();
  ExpectSafe();
  EXPECT_EQ(node_.state(), NmtState::kOperational);
}

// CiA 401: 6200h is eight outputs a byte, 6411h sixteen bits; both least significant byte first.
TEST_F(IoMasterTest, ValuesReachTheTerminals) {
  RunUp();
  master_.SetOutput(clock_.Now(), 3, true);
  master_.SetOutput(clock_.Now(), 9, false);
  master_.SetAnalogue(clock_.Now(), 1, 0x1234);
  const std::vector<Frame> sent = SentIn(2);
  EXPECT_THAT(sent, testing::Contains(FrameOf(0x205, false, "0900")));
  EXPECT_THAT(sent, testing::Contains(FrameOf(0x305, false, "9CFF3412")));
  EXPECT_TRUE(node_.Output(3));
  EXPECT_FALSE(node_.Output(9));
  EXPECT_EQ(node_.Analogue(1), 0x1234);
}

TEST_F(IoMasterTest, StoppedItLeavesWhatIsSafe) {
  RunUp();
  master_.SetOutput(clock_.Now(), 3, true);
  master_.SetAnalogue(clock_.Now(), 0, 9000);
  PassMs(5);
  master_.Stop(clock_.Now());
  EXPECT_EQ(SentIn(300),
            (std::vector{FrameOf(0x205, false, "0102"), FrameOf(0x305, false, "9CFF1400"),
                         FrameOf(0x000, false, "0205")}));
  ExpectSafe();
  EXPECT_EQ(node_.state(), NmtState::kStopped);
  EXPECT_EQ(master_.state(), State::kStopped);
}

// The node by itself, within the 150 ms that it was told.
TEST_F(IoMasterTest, AMasterThatIsGoneLeavesWhatIsSafe) {
  RunUp();
  master_.SetOutput(clock_.Now(), 3, true);
  master_.SetAnalogue(clock_.Now(), 0, 9000);
  PassMs(5);
  master_lives_ = false;
  PassMs(90);
  EXPECT_TRUE(node_.Output(3));
  PassMs(65);
  ExpectSafe();
  EXPECT_EQ(node_.state(), NmtState::kStopped);
  EXPECT_THAT(master_.TakeEmergencies(), testing::SizeIs(1));
}

TEST_F(IoMasterTest, ANodeThatIsSilentIsAFailure) {
  RunUp();
  node_.Unplug();
  PassMs(99);  // its last heartbeat is up to 50 ms old
  EXPECT_EQ(master_.state(), State::kRunning);
  sent_.clear();
  PassMs(55);
  EXPECT_EQ(master_.failure(),
            "I/O node 5: nothing heard of it for 150 ms; is its supply on, is it on the bus?");
  EXPECT_EQ(sent_.back(), FrameOf(0x000, false, "0205"));
  EXPECT_THAT(SentIn(500), testing::IsEmpty());
}

TEST_F(IoMasterTest, ANodeThatStartsAnewIsAFailure) {
  RunUp();
  node_.PowerOn(clock_.Now());
  PassMs(5);
  EXPECT_EQ(master_.failure(), "I/O node 5: it has started anew by itself; look at its supply");
}

TEST_F(IoMasterTest, NobodyThereIsSaid) {
  node_.Unplug();
  master_.Start(clock_.Now());
  PassMs(2100);
  EXPECT_EQ(
      master_.failure(),
      "I/O node 5: it does not answer a reset; is it on this bus, with this number and bit rate?");
}

TEST_F(IoMasterTest, ANodeThatCannotBeSafeAloneIsNotDriven) {
  // Its dictionary comes back with its reset, so it forgets after that.
  node_.PowerOn(clock_.Now());
  master_.Start(clock_.Now());
  PassMs(1);
  node_.Forget(0x6444);
  PassMs(100);
  EXPECT_EQ(master_.failure(),
            "I/O node 5: 6444h sub-index 1 could not be set: it has no such "
            "object; it would not be safe without us, so it is not driven");
  EXPECT_EQ(node_.state(), NmtState::kStopped);
}

TEST_F(IoMasterTest, ANodeWithFewerOutputsIsSaid) {
  IoNode small(5, 1, 2);
  std::swap(small, node_);
  node_.PowerOn(clock_.Now());
  master_.Start(clock_.Now());
  PassMs(100);
  EXPECT_THAT(master_.failure(),
              testing::StartsWith("I/O node 5: 6206h sub-index 2 could not be set"));
}

TEST_F(IoMasterTest, EmergenciesAreEvents) {
  RunUp();
  node_.Report(clock_.Now(), {0x3120, 0x05});
  PassMs(5);
  const std::vector<Emergency> told = master_.TakeEmergencies();
  ASSERT_EQ(told.size(), 1u);
  EXPECT_EQ(told[0].code, 0x3120);
  EXPECT_EQ(told[0].error_register, 0x05);
  EXPECT_THAT(master_.TakeEmergencies(), testing::IsEmpty());
  EXPECT_EQ(master_.state(), State::kRunning);
}

TEST_F(IoMasterTest, FramesOfOtherNodesAreNotItsOwn) {
  RunUp();
  node_.Unplug();
  for (int i = 0; i < 20; ++i) {
    node_end_.Send(HeartbeatFrame(6, NmtState::kOperational));
    PassMs(10);
  }
  EXPECT_EQ(master_.state(), State::kFailed);
}

}  // namespace
}  // namespace drycrank::protocol
