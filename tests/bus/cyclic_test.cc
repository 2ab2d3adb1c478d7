// SPDX-License-Identifier: Apache-2.0
#include "bus/cyclic.h"

#include <gtest/gtest.h>

namespace drycrank::bus {
namespace {

class Cyclic : public testing::Test {
 protected:
  void Add(std::size_t bus, double period_ms, double phase_ms = 0,
           profile::Sender by = profile::Sender::kSimulator) {
    if (bench_.buses.size() <= bus) bench_.buses.resize(bus + 1);
    profile::Message message;
    message.sender = by;
    message.period_ms = period_ms;
    message.phase_ms = phase_ms;
    bench_.buses[bus].messages.push_back(message);
  }
  CyclicSender Sender() { return CyclicSender(bench_, profile::Sender::kSimulator); }

  profile::Bench bench_;
};

TEST_F(Cyclic, TakesTheMessagesOfItsSenderThatHaveAPeriod) {
  Add(0, 10);
  Add(0, 10, 0, profile::Sender::kController);
  Add(0, 0);
  Add(1, 20);
  const CyclicSender sender = Sender();
  ASSERT_EQ(sender.slots().size(), 2u);
  EXPECT_EQ(sender.slots()[0].message, 0);
  EXPECT_EQ(sender.slots()[1].bus, 1);
  EXPECT_EQ(sender.slots()[1].period_ns, 20 * kNsPerMs);
}

TEST_F(Cyclic, NothingToSendIsNeverDue) {
  CyclicSender sender = Sender();
  EXPECT_EQ(sender.NextDue(), kNever);
  EXPECT_EQ(sender.TakeDue(kNever), nullptr);
}

TEST_F(Cyclic, DeadlinesAreWholePeriodsAfterThePhase) {
  Add(0, 10, 3);
  CyclicSender sender = Sender();
  for (int k = 0; k < 1000; ++k) {
    const TimeNs due_ns = k * 10 * kNsPerMs + 3 * kNsPerMs;
    ASSERT_EQ(sender.NextDue(), due_ns);
    EXPECT_EQ(sender.TakeDue(due_ns - 1), nullptr);
    const Slot* slot = sender.TakeDue(due_ns + 400'000);  // late, but within the slot: no drift
    ASSERT_NE(slot, nullptr);
    EXPECT_EQ(slot->next_ns, due_ns);
    EXPECT_EQ(slot->sent, static_cast<std::uint64_t>(k));
  }
  EXPECT_EQ(sender.slots()[0].skipped, 0u);
}

TEST_F(Cyclic, EachThirdFrameIsEarlyWithoutDrift) {
  Add(0, 10);
  CyclicSender sender = Sender();
  sender.SetEarly(0, 0, 4 * kNsPerMs, 3);
  for (const TimeNs due_ms : {0, 10, 16, 30, 40, 46, 60}) {
    ASSERT_EQ(sender.NextDue(), due_ms * kNsPerMs);
    ASSERT_NE(sender.TakeDue(due_ms * kNsPerMs), nullptr);
  }
  EXPECT_EQ(sender.slots()[0].skipped, 0u);
  sender.SetEarly(0, 0, 0, 1);
  EXPECT_EQ(sender.NextDue(), 70 * kNsPerMs);
}

TEST_F(Cyclic, EqualDeadlinesKeepTheOrderOfTheProfile) {
  Add(1, 10);
  Add(0, 20);
  Add(0, 10);
  CyclicSender sender = Sender();
  const Slot first = *sender.TakeDue(0);
  const Slot second = *sender.TakeDue(0);
  const Slot third = *sender.TakeDue(0);
  EXPECT_EQ(first.bus, 0);
  EXPECT_EQ(first.message, 0);
  EXPECT_EQ(second.message, 1);
  EXPECT_EQ(third.bus, 1);
  EXPECT_EQ(sender.TakeDue(0), nullptr);
  EXPECT_EQ(sender.NextDue(), 10 * kNsPerMs);
}

TEST_F(Cyclic, MissedSlotsAreSkippedAndCounted) {
  Add(0, 10);
  CyclicSender sender = Sender();
  ASSERT_NE(sender.TakeDue(35 * kNsPerMs), nullptr);  // 0 is sent; 10, 20, 30 are past
  EXPECT_EQ(sender.TakeDue(35 * kNsPerMs), nullptr);  // no burst
  EXPECT_EQ(sender.slots()[0].skipped, 3u);
  EXPECT_EQ(sender.slots()[0].sent, 1u);
  EXPECT_EQ(sender.NextDue(), 40 * kNsPerMs);
}

TEST_F(Cyclic, PeriodFactorStretchesFromTheNextDeadlineOn) {
  Add(0, 10);
  CyclicSender sender = Sender();
  sender.TakeDue(0);
  sender.SetPeriodFactor(0, 0, 2.5);
  EXPECT_EQ(sender.NextDue(), 10 * kNsPerMs);
  sender.TakeDue(10 * kNsPerMs);
  EXPECT_EQ(sender.NextDue(), 35 * kNsPerMs);
  sender.SetPeriodFactor(0, 0, 1);
  sender.TakeDue(35 * kNsPerMs);
  EXPECT_EQ(sender.NextDue(), 45 * kNsPerMs);
}

TEST_F(Cyclic, HugePeriodFactorIsSilenceWithoutOverflow) {
  Add(0, 10);
  CyclicSender sender = Sender();
  sender.SetPeriodFactor(0, 0, 1e300);
  sender.TakeDue(0);
  EXPECT_GT(sender.NextDue(), 1000 * 24 * 3600 * kNsPerS);
}

}  // namespace
}  // namespace drycrank::bus
