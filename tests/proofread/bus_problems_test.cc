// SPDX-License-Identifier: Apache-2.0
#include "proofread/bus_problems.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace drycrank::proofread {
namespace {

using testing::HasSubstr;

class BusProblemsTest : public testing::Test {
 protected:
  BusProblemsTest() {
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
    layout.name = "layout_of_";
    layout.name += name;
    layout.id = id;
    bench_.display->layouts.push_back(layout);
    profile::Gauge gauge;
    gauge.name = name;
    gauge.message = layout.name;
    gauge.stale_ms = stale_ms;
    bench_.display->gauges.push_back(gauge);
  }
  Diagnostics Problems() { return BusProblems(bench_, bus::TimingOf(bench_)); }

  profile::Bench bench_;
};

// The published example again (tests/bus/response_time_test.cc): 7 bytes are 125 bits at most, 1 ms
// at 125 kbit/s. c takes 3.5 ms at worst, exactly as long as it may.
TEST_F(BusProblemsTest, ABusThatCarriesAllInTimeHasNone) {
  Add("a", 0x100, 2.5);
  Add("b", 0x200, 3.5);
  Add("c", 0x300, 3.5);
  EXPECT_TRUE(Problems().empty());
}

TEST_F(BusProblemsTest, AMessageThatIsNotOutBeforeItsNextValueIsFound) {
  Add("a", 0x100, 2.5);
  Add("c", 0x300, 1.5);  // 1 / 2.5 + 1 / 1.5 is more than there is
  const Diagnostics problems = Problems();
  ASSERT_EQ(problems.size(), 2u);
  EXPECT_THAT(problems[0].what, HasSubstr("bus 'vehicle' is more than full: 107 %"));
  EXPECT_THAT(problems[1].what, HasSubstr("message 'c' may never get out"));
}

// Comes every 50 ms and takes 1 + 1 ms at worst: 52 ms may pass between two.
TEST_F(BusProblemsTest, AGaugeThatWouldGoStaleIsFoundOnPaper) {
  Add("a", 0x100, 100);
  Add("temps", 0x300, 50);
  Gauge("coolant", 0x300, 52);
  EXPECT_TRUE(Problems().empty());
  bench_.display->gauges[0].stale_ms = 51.9;
  const Diagnostics problems = Problems();
  ASSERT_EQ(problems.size(), 1u);
  EXPECT_EQ(
      problems[0].what,
      "gauge 'coolant' would go stale: it waits 51.9 ms; message 'temps' comes every 50 ms and "
      "can take 2 ms on bus 'vehicle'");
}

// Nobody says how often they come: they are counted apart, and fill nothing.
TEST_F(BusProblemsTest, MessagesWithoutAPeriodFillNothing) {
  Add("a", 0x200, 2.5);
  for (const char* name : {"b", "c", "d", "e", "f", "g", "h", "i", "j", "k", "l", "m"}) {
    Add(name, 0x100 + static_cast<std::uint32_t>(name[0]), 0);
  }
  const auto timing = bus::PeriodicTimingOf(bench_);
  EXPECT_NEAR(timing[0].load, 1 / 2.5, 1e-9);
  EXPECT_TRUE(BusProblems(bench_, timing).empty());
  EXPECT_FALSE(Problems().empty()) << "as often as looked at they would";
  const Diagnostics apart = NotCounted(bench_, timing);
  ASSERT_EQ(apart.size(), 1u);
  EXPECT_THAT(apart[0].what, HasSubstr("12 messages of bus 'vehicle' without a period"));
}

// ISO 11898-2: a node is on both wires of the pair. The ecu's low wire is not drawn, or does not come
// through the plug between two pieces of harness.
class BusPairTest : public BusProblemsTest {
 protected:
  BusPairTest() {
    bench_.buses[0].nodes = {{"ecu", "ECU.1", "ECU.2", 120, {}}, {"dash", "DSP.1", "DSP.2", 120, {}}};
    bench_.splices = {"S_LOW"};
    Wire("high", "ECU.1", "DSP.1");
    Wire("low_ecu", "ECU.2", "S_LOW");
    Wire("low_dash", "S_LOW", "DSP.2");
  }
  void Wire(const char* circuit, const char* from, const char* to) {
    profile::Wire wire;
    wire.circuit = circuit, wire.from = from, wire.to = to;
    bench_.wires.push_back(wire);
  }
};

TEST_F(BusPairTest, ThatIsWholeIsNoProblem) { EXPECT_TRUE(Problems().empty()); }

TEST_F(BusPairTest, ThatHasOneWireOnlyIsNamedAtEachNode) {
  bench_.wires[1].fitted = false;  // on paper only
  const Diagnostics problems = Problems();
  ASSERT_EQ(problems.size(), 2u);
  EXPECT_EQ(problems[0].what,
            "node 'ecu' of bus 'vehicle' has one wire of the pair: no wire leads from ECU.2 (low) to "
            "another node");
  EXPECT_THAT(problems[1].what, HasSubstr("from DSP.2 (low)"));
}

}  // namespace
}  // namespace drycrank::proofread
