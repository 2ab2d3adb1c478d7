// SPDX-License-Identifier: Apache-2.0
//
// Frames of a run on buses with a speed of their own, and on buses whose frames come late.
#include "run/carrier.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <map>
#include <vector>

#include "bus/frame_bits.h"
#include "bus/inproc_bus.h"
#include "bus/layout.h"
#include "run/pace.h"
#include "tests/run/loaded.h"

namespace drycrank::run {
namespace {

class Frames : public RunObserver {
 public:
  void OnFrame(const bus::TimedFrame& frame) override { of[frame.frame.id].push_back(frame); }
  std::map<std::uint32_t, std::vector<bus::TimedFrame>> of;
};

// Stands still for a while at the first wait that ends at or after `stall_at_ns`.
class StallingClock : public ManualClock {
 public:
  StallingClock(TimeNs stall_at_ns, TimeNs stall_ns) : at_ns_(stall_at_ns), for_ns_(stall_ns) {}
  void WaitUntil(TimeNs due_ns, std::span<const int> descriptors) override {
    ManualClock::WaitUntil(due_ns, descriptors);
    if (done_ || Now() < at_ns_) return;
    done_ = true;
    Advance(for_ns_);
  }

 private:
  TimeNs at_ns_, for_ns_;
  bool done_ = false;
};

class CarrierTest : public testing::Test {
 protected:
  CarrierTest() {
    scenario_.steps.resize(1);
    scenario_.steps[0].name = "live";
    scenario_.steps[0].for_s = 1;
  }
  const profile::Message& Named(const char* name) const {
    const profile::MessageRef at = profile::FindMessage(bench_, name);
    return bench_.buses[0].messages[static_cast<std::size_t>(at.message)];
  }
  int Index(const char* name) const { return profile::FindMessage(bench_, name).message; }

  profile::LoadedScenario loaded_ = Shipped("hill_climb/healthy");
  const profile::Bench& bench_ = *loaded_.bench;
  profile::Scenario scenario_;
  Frames frames_;
};

// engine_pressures, each 20 ms from 3 ms on, alone at that instant: no wait, only its own bits but
// the three after it.
TEST_F(CarrierTest, AFrameOnABusInTheProcessArrivesAfterItsBits) {
  Runner runner(bench_, scenario_, {});
  runner.AddObserver(&frames_);
  runner.Start();
  runner.RunTo(kNsPerS / 2);
  const auto& seen = frames_.of[0x130];
  ASSERT_EQ(seen.size(), 25u);
  for (std::size_t i = 0; i < seen.size(); ++i) {
    bus::FrameBits bits = bus::ExactBits(seen[i].frame);
    bits.nominal -= bus::kIntermissionBits;
    EXPECT_EQ(seen[i].t_ns,
              static_cast<TimeNs>(3 + 20 * i) * kNsPerMs + bus::DurationNs(bits, bench_.buses[0]));
  }
  const bus::Wire* wire = runner.carrier().wire(0);
  ASSERT_NE(wire, nullptr);
  EXPECT_EQ(wire->mailboxes()[static_cast<std::size_t>(Index("engine_pressures"))].sent, 25u);
  EXPECT_GT(wire->busy_ns(), 10 * kNsPerMs);
}

// Due at 500 ms, released at 535: the slots of 500, 510 and 520 are a period late or more and are
// left out, the one of 530 goes 5 ms late. What comes each 50 ms is late too, and goes.
TEST_F(CarrierTest, SlotsThatAreAPeriodLateAreLeftOutAndCounted) {
  StallingClock clock(500 * kNsPerMs, 35 * kNsPerMs);
  auto hub = std::make_shared<bus::InprocHub>(clock);
  bus::InprocBus ours(hub), theirs(hub);
  RunOptions options;
  options.interfaces = {&ours};
  options.clock = &clock;
  Runner runner(bench_, scenario_, options);
  runner.Start();
  Pace(runner, clock, {});

  std::map<std::uint32_t, std::vector<bus::TimedFrame>> arrived;
  while (const auto frame = theirs.Receive()) arrived[frame->frame.id].push_back(*frame);
  EXPECT_EQ(arrived[0x120].size(), 100u - 3);
  EXPECT_EQ(runner.skipped_slots(0, Index("engine_fast")), 3u);
  EXPECT_EQ(runner.skipped_slots(0, Index("display_speeds")), 0u);
  // Never in a burst: between two of a kind there is half a period at least.
  const auto& fast = arrived[0x120];
  for (std::size_t i = 1; i < fast.size(); ++i) {
    EXPECT_GE(fast[i].t_ns - fast[i - 1].t_ns, 5 * kNsPerMs) << i;
    EXPECT_EQ(bus::CounterOf(Named("engine_fast"), fast[i].frame),
              (bus::CounterOf(Named("engine_fast"), fast[i - 1].frame) + 1) % 16);
  }
  const bus::Lateness* late =
      runner.carrier().lateness(0, static_cast<std::size_t>(Index("engine_fast")));
  ASSERT_NE(late, nullptr);
  EXPECT_EQ(late->count(), 97u);
  EXPECT_EQ(late->worst_ns(), 5 * kNsPerMs);
  EXPECT_EQ(late->Quantile(0.5), 0);
}

TEST_F(CarrierTest, OnABusInTheProcessNothingIsLate) {
  StallingClock clock(500 * kNsPerMs, 35 * kNsPerMs);
  RunOptions options;
  options.clock = &clock;
  Runner runner(bench_, scenario_, options);
  runner.AddObserver(&frames_);
  runner.Start();
  Pace(runner, clock, {});
  EXPECT_EQ(runner.skipped_slots(), 0u);
  EXPECT_GE(frames_.of[0x120].size(), 100u);
  EXPECT_EQ(runner.carrier().lateness(0, 0), nullptr);
}

TEST_F(CarrierTest, EachMessageIsNoSlowerThanOnPaper) {
  // Checked for every message of a whole run by what the report says of it.
  Runner runner(bench_, *loaded_.scenario, {});
  runner.Start();
  VirtualClock clock;
  Pace(runner, clock, {});
  const bus::Wire* wire = runner.carrier().wire(0);
  // proofread's table for this bench: 2 ms at most for the last of them.
  for (const bus::Wire::Mailbox& mailbox : wire->mailboxes()) {
    EXPECT_GT(mailbox.sent, 10u);
    EXPECT_EQ(mailbox.replaced, 0u);
    EXPECT_LE(mailbox.worst_response_ns, 2 * kNsPerMs);
  }
  EXPECT_EQ(wire->refused(), 0u);
}

}  // namespace
}  // namespace drycrank::run
