// SPDX-License-Identifier: Apache-2.0
#include "bus/bus_timing.h"

#include <gtest/gtest.h>

namespace drycrank::bus {
namespace {

class BusTimingTest : public testing::Test {
 protected:
  BusTimingTest() {
    bench_.buses.resize(1);
    bench_.buses[0].name = "vehicle";
    bench_.buses[0].bitrate_bps = 125e3;
    bench_.display.emplace();
  }
  void Add(const char* name, std::uint32_t id, double period_ms, int length_bytes = 7) {
    profile::Message message;
    message.name = name;
    message.id = id;
    message.period_ms = period_ms;
    message.length_bytes = length_bytes;
    bench_.buses[0].messages.push_back(message);
  }
  // The display calls the message by a name of its own.
  void Gauge(const char* name, std::uint32_t id, double stale_ms) {
    profile::Message layout;
    layout.name = std::string("layout_of_") + name;
    layout.id = id;
    bench_.display->layouts.push_back(layout);
    profile::Gauge gauge;
    gauge.name = name;
    gauge.message = layout.name;
    gauge.stale_ms = stale_ms;
    bench_.display->gauges.push_back(gauge);
  }

  profile::Bench bench_;
};

// The published example again (response_time_test.cc), written as a bench: 7 bytes are 125 bits at
// most, 1 ms at 125 kbit/s.
TEST_F(BusTimingTest, ReadsMessagesInTheOrderOfTheirIdentifiers) {
  Add("c", 0x300, 3.5);
  Add("a", 0x100, 2.5);
  Add("b", 0x200, 3.5);
  const BusTiming timing = TimingOf(bench_)[0];
  ASSERT_EQ(timing.messages.size(), 3u);
  EXPECT_EQ(timing.messages[0].message, 1);
  EXPECT_EQ(timing.messages[0].longest_ns, kNsPerMs);
  EXPECT_EQ(timing.messages[0].response_ns, 2 * kNsPerMs);
  EXPECT_EQ(timing.messages[1].response_ns, 3 * kNsPerMs);
  EXPECT_EQ(timing.messages[2].message, 0);
  EXPECT_EQ(timing.messages[2].response_ns, FromMs(3.5));
  EXPECT_NEAR(timing.load, 1 / 2.5 + 2 / 3.5, 1e-12);
  // 103 bits without stuffing: 0.824 of that.
  EXPECT_NEAR(timing.least_load, 0.824 * timing.load, 1e-12);
}

TEST_F(BusTimingTest, TheMostImpatientGaugeSetsTheLimit) {
  Add("temps", 0x300, 50);
  Gauge("oil", 0x300, 500);
  Gauge("coolant", 0x300, 200);
  Gauge("fuel", 0x301, 60);  // of another message
  const MessageTiming timing = TimingOf(bench_)[0].messages[0];
  EXPECT_EQ(timing.gauge, 1);
  EXPECT_EQ(timing.limit_ns, 150 * kNsPerMs);
}

TEST_F(BusTimingTest, AnEventMessageCountsAsOftenAsItIsLookedAt) {
  Add("alarm", 0x50, 0);
  bench_.controller.emplace();
  bench_.controller->sample_ms = 20;
  EXPECT_NEAR(TimingOf(bench_)[0].load, 1.0 / 20, 1e-12);
}

}  // namespace
}  // namespace drycrank::bus
