// SPDX-License-Identifier: Apache-2.0
//
// After construction nothing is allocated, whatever comes: this program counts every allocation.
#include <gtest/gtest.h>

#include <memory>

#include "standin/rig.h"
#include "tests/bus/count_allocations.h"

namespace drycrank::standin {
namespace {

// 36-1 at 1000 r/min, a cam edge each second turn, and every so often a spike.
std::size_t AllocationsWhileRunning(bool with_spikes) {
  const profile::Bench bench = FourCylinder(EvenWheel(36, {36}));
  Controller controller(bench);
  TimeNs t_ns = 0;
  const auto level = [&](int input, double v) {
    controller.OnWave(input, {t_ns, kNever, v, v, 0});
    controller.Advance(t_ns);
  };
  const std::size_t before = bus::Allocations();
  for (int slot = 0; slot < 36 * 100; ++slot) {
    if (slot % 36 != 35) level(0, 0.1);
    t_ns += 500'000;
    if (with_spikes && slot % 97 == 96) level(0, 4.9);
    if (with_spikes && slot % 97 == 96) level(0, 0.1);
    t_ns += 333'333;
    level(0, 4.9);
    level(1, slot % 72 == 20 ? 0.1 : 4.9);
    t_ns += 833'334;
    const double input_v[2] = {0, 0};
    controller.OnSample(t_ns, input_v, 12, {});
    controller.TakeOutputs();
    controller.TakeEdges();
  }
  EXPECT_EQ(controller.dropped(), 0);
  EXPECT_EQ(controller.Value(controller.ValueIndex("sync_losses")) > 0, with_spikes);
  EXPECT_GT(controller.Value(controller.ValueIndex("ignitions")), 0);
  return bus::Allocations() - before;
}

TEST(Controller, AllocatesNothingWhileItRuns) {
  EXPECT_EQ(AllocationsWhileRunning(false), 0u);
  EXPECT_EQ(AllocationsWhileRunning(true), 0u);
}

TEST(Controller, AllocationsAreSeenByThisTest) {
  const std::size_t before = bus::Allocations();
  const auto something = std::make_unique<int>(1);
  EXPECT_GT(bus::Allocations(), before);
}

TEST(Controller, CountsWhatNobodyTakes) {
  const profile::Bench bench = FourCylinder(EvenWheel(36, {36}));
  Controller controller(bench);
  for (int i = 0; i < 20'000; ++i) {
    const double v = i % 2 == 0 ? 4.9 : 0.1;
    controller.OnWave(0, {i * 1000, kNever, v, v, 0});
    controller.Advance(i * 1000);
  }
  EXPECT_EQ(controller.dropped(), 19'999 - 16'384);
}

}  // namespace
}  // namespace drycrank::standin
