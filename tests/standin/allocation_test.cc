// SPDX-License-Identifier: Apache-2.0
//
// After construction nothing is allocated, whatever comes: this program counts every allocation.
#include <gtest/gtest.h>

#include <cstdlib>
#include <memory>
#include <new>

#include "standin/rig.h"

namespace {
long allocations = 0;
}  // namespace

// Not inlined: the compiler would take the pair for a mismatch.
[[gnu::noinline]] void* operator new(std::size_t size) {
  ++allocations;
  if (void* memory = std::malloc(size)) return memory;
  throw std::bad_alloc();
}
[[gnu::noinline]] void* operator new(std::size_t size, const std::nothrow_t&) noexcept {
  ++allocations;
  return std::malloc(size);
}
[[gnu::noinline]] void operator delete(void* memory) noexcept { std::free(memory); }
[[gnu::noinline]] void operator delete(void* memory, std::size_t /*size*/) noexcept {
  std::free(memory);
}

namespace drycrank::standin {
namespace {

// 36-1 at 1000 r/min, a cam edge each second turn, and every so often a spike.
long AllocationsWhileRunning(bool with_spikes) {
  const profile::Bench bench = FourCylinder(EvenWheel(36, {36}));
  Controller controller(bench);
  TimeNs t_ns = 0;
  const auto level = [&](int input, double v) {
    controller.OnWave(input, {t_ns, kNever, v, v, 0});
    controller.Advance(t_ns);
  };
  const long before = allocations;
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
  return allocations - before;
}

TEST(Controller, AllocatesNothingWhileItRuns) {
  EXPECT_EQ(AllocationsWhileRunning(false), 0);
  EXPECT_EQ(AllocationsWhileRunning(true), 0);
}

TEST(Controller, AllocationsAreSeenByThisTest) {
  const long before = allocations;
  const auto something = std::make_unique<int>(1);
  EXPECT_GT(allocations, before);
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
