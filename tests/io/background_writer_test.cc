// SPDX-License-Identifier: Apache-2.0
#include "io/background_writer.h"

#include <gtest/gtest.h>

#include <atomic>
#include <thread>

namespace drycrank::io {
namespace {

using std::chrono::hours;
using std::chrono::milliseconds;

// Takes one of what waits at each look.
class OneByOne : public Backlog {
 public:
  bool WriteWaiting() override {
    writer = std::this_thread::get_id();
    if (waiting == 0) return false;
    --waiting;
    return true;
  }
  void BeginBackground() override { in_background = true; }
  void EndBackground() override { in_background = false; }

  std::atomic<int> waiting = 0;
  std::thread::id writer;
  bool in_background = false;
};

TEST(BackgroundWriter, WhatWaitsIsWrittenWithoutAWaitBetween) {
  OneByOne first, second;
  first.waiting = second.waiting = 5;
  const BackgroundWriter background({&first, &second}, hours(1));
  while (first.waiting > 0 || second.waiting > 0) std::this_thread::yield();
}

TEST(BackgroundWriter, ItLooksAgain) {
  OneByOne backlog;
  const BackgroundWriter background({&backlog}, milliseconds(1));
  for (int i = 0; i < 3; ++i) {
    backlog.waiting = 1;
    while (backlog.waiting > 0) std::this_thread::yield();
  }
}

// The last look is the owner's: nobody else writes any more.
TEST(BackgroundWriter, TheEndComesAtOnceAndAfterALastLook) {
  OneByOne backlog;
  {
    const BackgroundWriter background({&backlog}, hours(1));
    EXPECT_TRUE(backlog.in_background);
  }
  EXPECT_FALSE(backlog.in_background);
  EXPECT_EQ(backlog.writer, std::this_thread::get_id());
}

}  // namespace
}  // namespace drycrank::io
