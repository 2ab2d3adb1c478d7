// SPDX-License-Identifier: Apache-2.0
//
// Runs in the guest kernel, as root: what io/real_time.h asks for is in force while it lives, by
// the kernel's own account. What is refused: tests/io/real_time_test.cc.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sched.h>

#include <fstream>
#include <string>
#include <thread>

#include "io/real_time.h"

namespace drycrank::io {
namespace {

using testing::IsEmpty;

// "VmLck:     1234 kB" of /proc/self/status (proc(5)).
long LockedKiB() {
  std::ifstream status("/proc/self/status");
  long kib = -1;
  for (std::string word; status >> word;) {
    if (word == "VmLck:") status >> kib;
  }
  return kib;
}

int Priority() {
  sched_param param{};
  return sched_getparam(0, &param) == 0 ? param.sched_priority : -1;
}

TEST(RealTimeInForce, ForThisThreadAndAllMemoryWhileItLives) {
  EXPECT_EQ(sched_getscheduler(0), SCHED_OTHER);
  EXPECT_EQ(LockedKiB(), 0);
  {
    const RealTime real_time(45);
    ASSERT_THAT(real_time.problems(), IsEmpty());
    EXPECT_EQ(sched_getscheduler(0), SCHED_FIFO | SCHED_RESET_ON_FORK);
    EXPECT_EQ(Priority(), 45);
    const long locked_kib = LockedKiB();
    EXPECT_GT(locked_kib, 1024);
    const std::string later(8 << 20, 'x');  // memory taken afterwards is locked too
    EXPECT_GE(LockedKiB(), locked_kib + (8 << 10)) << later.size();
  }
  EXPECT_EQ(sched_getscheduler(0) & ~SCHED_RESET_ON_FORK, SCHED_OTHER);
  EXPECT_EQ(Priority(), 0);
  EXPECT_EQ(LockedKiB(), 0);
}

// One that writes the record must not hold up what it writes of.
TEST(RealTimeInForce, AThreadMadeAfterwardsIsAnOrdinaryOne) {
  const RealTime real_time;
  ASSERT_THAT(real_time.problems(), IsEmpty());
  int scheduler = -1, priority = -1;
  std::thread([&] {
    scheduler = sched_getscheduler(0);
    priority = Priority();
  }).join();
  EXPECT_EQ(scheduler, SCHED_OTHER);
  EXPECT_EQ(priority, 0);
}

// The twin: without SCHED_RESET_ON_FORK it would not be.
TEST(RealTimeInForce, AThreadOfAnUnguardedOneInheritsIt) {
  sched_param param{};
  param.sched_priority = 45;
  ASSERT_EQ(sched_setscheduler(0, SCHED_FIFO, &param), 0);
  int scheduler = -1;
  std::thread([&] { scheduler = sched_getscheduler(0); }).join();
  EXPECT_EQ(scheduler, SCHED_FIFO);
  param.sched_priority = 0;
  ASSERT_EQ(sched_setscheduler(0, SCHED_OTHER, &param), 0);
}

}  // namespace
}  // namespace drycrank::io
