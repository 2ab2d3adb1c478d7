// SPDX-License-Identifier: Apache-2.0
//
// The path from value to frame to value takes no memory: operator new is counted over the whole
// test program.
#include <gtest/gtest.h>

#include <new>

#include "bus/cyclic.h"
#include "bus/inproc_bus.h"
#include "bus/layout.h"
#include "tests/bus/build_signal.h"
#include "tests/bus/count_allocations.h"

namespace drycrank::bus {
namespace {

TEST(NoAllocation, FromValueToFrameToValue) {
  profile::Message message = MessageOf({Little(0, 16), Big(23, 16), Little(32, 4), Little(56, 8)});
  message.period_ms = 10;
  message.counter_signal = 2;
  message.checksum_signal = 3;
  message.checksum = profile::ChecksumKind::kCrc8SaeJ1850;
  profile::Bench bench;
  bench.buses.resize(1);
  bench.buses[0].messages = {message};
  CyclicSender sender(bench, profile::Sender::kSimulator);
  ManualClock clock;
  auto hub = std::make_shared<InprocHub>(clock);
  InprocBus simulator(hub);
  InprocBus display(hub);
  const double values[] = {1000, 2000, 0, 0};

  const std::size_t before = Allocations();
  double sum = 0;
  for (TimeNs now = 0; now < kNsPerS; now += 10 * kNsPerMs) {
    const Slot* slot = sender.TakeDue(now);
    simulator.Send(Encode(message, values, slot->sent));
    const std::optional<TimedFrame> got = display.Receive();
    if (ChecksumIsRight(message, got->frame)) sum += *Decode(message, 1, got->frame);
  }
  EXPECT_EQ(Allocations(), before);
  EXPECT_EQ(sum, 100 * 2000.0);
  ::operator delete(::operator new(4));  // called by name: no compiler may leave it out
  EXPECT_GT(Allocations(), before);      // the count does count
}

}  // namespace
}  // namespace drycrank::bus
