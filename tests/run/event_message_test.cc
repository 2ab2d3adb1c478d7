// SPDX-License-Identifier: Apache-2.0
//
// A message with period 0 leaves when one of its values changes, and only then. The hill-climb
// bench's `chassis` (0x210, played by the simulator) is made one: road speed, 0.01 km/h per bit,
// 16 bits from bit 0, the least significant byte first.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <memory>
#include <vector>

#include "bus/inproc_bus.h"
#include "bus/layout.h"
#include "run/runner.h"
#include "tests/run/loaded.h"
#include "types/clock.h"

namespace drycrank::run {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;
using testing::SizeIs;

class EventMessageTest : public testing::Test, public RunObserver {
 protected:
  EventMessageTest() {
    scenario_.steps.resize(1);
    scenario_.steps[0].name = "live";
    scenario_.steps[0].for_s = 100;
    options_.endless = true;
    const profile::MessageRef at = profile::FindMessage(bench_, "chassis");
    bench_.buses[0].messages[static_cast<std::size_t>(at.message)].period_ms = 0;
  }
  void OnFrame(const bus::TimedFrame& frame) override {
    if (frame.frame.id == 0x210) raw_.push_back(Raw(frame.frame));
  }
  static int Raw(const bus::Frame& frame) { return frame.data[0] + 256 * frame.data[1]; }

  // The values sent since the last call.
  std::vector<int> Sent() { return std::exchange(raw_, {}); }
  void Start() {
    runner_.emplace(bench_, scenario_, options_);
    runner_->AddObserver(this);
    runner_->Start();
  }
  void Drive(double km_h, double over_s = 0) {
    runner_->Override(profile::IndexOf(bench_.stimuli, "road_speed"), km_h, over_s);
  }

  profile::LoadedScenario loaded_ = Shipped("hill_climb/healthy");
  profile::Bench& bench_ = *loaded_.bench;
  profile::Scenario scenario_;
  RunOptions options_;
  std::optional<Runner> runner_;
  std::vector<int> raw_;
};

TEST_F(EventMessageTest, LeavesOnceAtTheBeginAndThenNoMore) {
  Start();
  runner_->RunTo(2 * kNsPerS);
  EXPECT_THAT(Sent(), ElementsAre(0));
}

TEST_F(EventMessageTest, LeavesOnceForEachChange) {
  Start();
  runner_->RunTo(kNsPerS);
  Sent();
  Drive(50);  // 50 / 0.01
  runner_->RunTo(2 * kNsPerS);
  EXPECT_THAT(Sent(), ElementsAre(5000));
  Drive(0);
  runner_->RunTo(3 * kNsPerS);
  EXPECT_THAT(Sent(), ElementsAre(0));
}

// 10 km/h in 0.1 s, looked at every 10 ms: a change of 1 km/h each time, and nothing afterwards.
TEST_F(EventMessageTest, LeavesAtEachSampleOfARamp) {
  Start();
  runner_->RunTo(kNsPerS);
  Sent();
  Drive(10, 0.1);
  runner_->RunTo(2 * kNsPerS);
  const std::vector<int> raw = Sent();
  EXPECT_THAT(raw, SizeIs(10));
  EXPECT_TRUE(std::is_sorted(raw.begin(), raw.end()));
  EXPECT_EQ(raw.back(), 1000);
}

// 0.003 km/h is nothing in hundredths.
TEST_F(EventMessageTest, StaysForAChangeThatItsSignalCannotCarry) {
  Start();
  runner_->RunTo(kNsPerS);
  Sent();
  Drive(0.003, 0.5);
  runner_->RunTo(2 * kNsPerS);
  EXPECT_THAT(Sent(), IsEmpty());
}

// The twin: the same message with its period leaves every 100 ms, changed or not.
TEST_F(EventMessageTest, WithAPeriodItLeavesUnchanged) {
  const profile::MessageRef at = profile::FindMessage(bench_, "chassis");
  bench_.buses[0].messages[static_cast<std::size_t>(at.message)].period_ms = 100;
  Start();
  runner_->RunTo(2 * kNsPerS);
  EXPECT_THAT(Sent(), SizeIs(20));
}

TEST_F(EventMessageTest, LeavesOnAnInterface) {
  ManualClock clock;
  auto hub = std::make_shared<bus::InprocHub>(clock);
  bus::InprocBus ours(hub), theirs(hub);
  options_.interfaces = {&ours};
  options_.clock = &clock;
  Start();
  const auto play = [&](TimeNs end_ns) {
    std::vector<int> received;
    while (runner_->NextDueNs() <= end_ns) {
      runner_->Prepare();
      clock.WaitUntil(runner_->NextDueNs(), {});
      runner_->Poll(clock.Now());
      runner_->RunTo(clock.Now());
      while (const auto frame = theirs.Receive()) {
        if (frame->frame.id == 0x210) received.push_back(Raw(frame->frame));
      }
    }
    return received;
  };
  EXPECT_THAT(play(kNsPerS), ElementsAre(0));
  EXPECT_THAT(play(2 * kNsPerS), IsEmpty());
  Drive(50);
  EXPECT_THAT(play(3 * kNsPerS), ElementsAre(5000));
  EXPECT_THAT(play(4 * kNsPerS), IsEmpty());
}

}  // namespace
}  // namespace drycrank::run
