// SPDX-License-Identifier: Apache-2.0
#include "run/pace.h"

#include <gtest/gtest.h>

#include <vector>

#include "tests/run/loaded.h"

namespace drycrank::run {
namespace {

class Frames : public RunObserver {
 public:
  void OnFrame(const bus::TimedFrame& frame) override { frames.push_back(frame); }
  std::vector<bus::TimedFrame> frames;
};

class PaceTest : public testing::Test {
 protected:
  // The scenario's frames under this clock.
  std::vector<bus::TimedFrame> Play(Clock& clock, PaceResult* result = nullptr) {
    Runner runner(*loaded_.bench, *loaded_.scenario, {});
    Frames frames;
    runner.AddObserver(&frames);
    runner.Start();
    const PaceResult paced = Pace(runner, clock, {});
    if (result != nullptr) *result = paced;
    EXPECT_TRUE(runner.finished());
    return frames.frames;
  }
  profile::LoadedScenario loaded_ = Shipped("kart/healthy");
};

bool Same(const std::vector<bus::TimedFrame>& a, const std::vector<bus::TimedFrame>& b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](const auto& x, const auto& y) {
    return x.t_ns == y.t_ns && x.bus == y.bus && x.frame == y.frame;
  });
}

TEST_F(PaceTest, ALateClockChangesNoFrameAndIsNoticed) {
  VirtualClock exact;
  ManualClock late;
  late.set_late_ns(3 * kNsPerMs);
  PaceResult result;
  const auto first = Play(exact);
  const auto second = Play(late, &result);
  ASSERT_GT(first.size(), 500u);
  EXPECT_TRUE(Same(first, second));
  EXPECT_GE(result.worst_late_ns, 3 * kNsPerMs);
}

TEST_F(PaceTest, NothingIsReleasedBeforeItIsDue) {
  class Watch : public RunObserver {
   public:
    explicit Watch(ManualClock& clock) : clock_(clock) {}
    void OnFrame(const bus::TimedFrame& frame) override { early |= frame.t_ns > clock_.Now(); }
    bool early = false;

   private:
    ManualClock& clock_;
  };
  ManualClock clock;
  Watch watch(clock);
  Runner runner(*loaded_.bench, *loaded_.scenario, {});
  runner.AddObserver(&watch);
  runner.Start();
  Pace(runner, clock, {});
  EXPECT_FALSE(watch.early);
  EXPECT_GT(clock.waits(), 500);
}

TEST_F(PaceTest, AskedToStopItEndsCleanly) {
  VirtualClock clock;
  Runner runner(*loaded_.bench, *loaded_.scenario, {});
  runner.Start();
  const PaceResult result =
      Pace(runner, clock, [](TimeNs t_ns) { return std::string(t_ns < kNsPerS ? "" : "enough"); });
  EXPECT_TRUE(result.stopped);
  EXPECT_TRUE(runner.finished());
  EXPECT_LT(runner.now_ns(), kNsPerS + 50 * kNsPerMs);
  EXPECT_EQ(runner.checker().verdicts().size(), loaded_.scenario->expectations.size());
}

}  // namespace
}  // namespace drycrank::run
