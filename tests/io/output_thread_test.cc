// SPDX-License-Identifier: Apache-2.0
#include "io/output_thread.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <atomic>

#include "output/memory_output.h"

namespace drycrank::io {
namespace {

using output::MemoryOutput;
using testing::HasSubstr;
using testing::SizeIs;

constexpr TimeNs kAnHour = 3600 * kNsPerS;

// Tells the test, on the thread of the output, that something has come.
class Watched : public MemoryOutput {
 public:
  Watched() : MemoryOutput({}) {
    EXPECT_EQ(Open(), "");
    EXPECT_EQ(Arm(), "");
  }
  void Give(const output::Given& given) override {
    MemoryOutput::Give(given);
    came.fetch_add(1);
    came.notify_all();
    while (holds.load()) std::this_thread::yield();
  }
  void Beat(TimeNs now_ns) override {
    MemoryOutput::Beat(now_ns);
    if (breaks.load()) Break("the line is gone");
    beats.fetch_add(1);
    beats.notify_all();
  }
  bool NeedsEach() const override { return needs_each; }
  void Disarm() override {
    MemoryOutput::Disarm();
    if (stays_on && failure_at_end.empty()) failure_at_end = "it does not take what is safe";
  }
  std::string failure() const override {
    return failure_at_end.empty() ? MemoryOutput::failure() : failure_at_end;
  }
  bool stays_on = false, needs_each = false;  // set before its thread begins
  std::string failure_at_end;
  std::atomic<int> came = 0, beats = 0;
  std::atomic<bool> breaks = false, holds = false;
};

output::Given At(TimeNs t_ns) { return {t_ns, 0, Source{}}; }

class OutputThreadTest : public testing::Test {
 protected:
  void WaitForBeats(int more) {
    const int until = output_.beats.load() + more;
    for (int seen = output_.beats.load(); seen < until; seen = output_.beats.load()) {
      output_.beats.wait(seen);
    }
  }
  void WaitForFailure(const OutputThread& thread) {
    while (!thread.has_failed()) std::this_thread::yield();
  }
  Watched output_;
  output::Handover handover_;
};

TEST_F(OutputThreadTest, WhatIsDueIsGivenWhatIsNotWaits) {
  OutputThread thread(output_, handover_);
  handover_.Put(At(0));
  handover_.Put(At(kAnHour));
  WaitForBeats(3);
  EXPECT_EQ(output_.came, 0) << "time 0 has not been";
  thread.StartClock();
  output_.came.wait(0);
  WaitForBeats(3);
  thread.Stop();
  EXPECT_THAT(output_.given(), SizeIs(1));
  EXPECT_FALSE(output_.armed());
  EXPECT_EQ(thread.failure(), "");
}

// On a line that is slower than what is put: what waits is left out, as the pins would move on meanwhile.
TEST_F(OutputThreadTest, AStopDoesNotWaitForWhatIsOverdue) {
  for (int i = 0; i < 100; ++i) handover_.Put(At(0));
  output_.holds = true;
  OutputThread thread(output_, handover_);
  thread.StartClock();
  output_.came.wait(0);
  std::thread stops([&] { thread.Stop(); });
  while (!thread.is_stopping()) std::this_thread::yield();
  output_.holds = false;
  stops.join();
  EXPECT_THAT(output_.given(), SizeIs(1));
  EXPECT_FALSE(output_.armed());
}

// A slow line that wrote the first has the last of each channel and kind before it, and no more.
TEST_F(OutputThreadTest, WhatIsOvertakenIsLeftOutAndCounted) {
  for (int i = 0; i < 5; ++i) {
    handover_.Put({0, 0, Source{.value = 1.0 * i}});
    handover_.Put({0, 1, Source{.value = 1.0 * i}});
    handover_.Put({0, output::kAllChannels, CrankMotion{}});
  }
  handover_.Put({0, 0, output::SupplyVolts{12}});
  OutputThread thread(output_, handover_);
  thread.StartClock();
  WaitForBeats(2);
  thread.Stop();
  EXPECT_THAT(output_.given(), SizeIs(4));
  EXPECT_EQ(std::get<Source>(output_.given()[0].state).value, 4);
  EXPECT_EQ(thread.overtaken(), 12u);
}

TEST_F(OutputThreadTest, OfWavesNoneIsLeftOut) {
  output_.needs_each = true;
  for (int i = 0; i < 5; ++i) handover_.Put(At(0));
  OutputThread thread(output_, handover_);
  thread.StartClock();
  WaitForBeats(2);
  thread.Stop();
  EXPECT_THAT(output_.given(), SizeIs(5));
  EXPECT_EQ(thread.overtaken(), 0u);
}

TEST_F(OutputThreadTest, AnOutputThatFailsIsGivenNothingMore) {
  OutputThread thread(output_, handover_);
  thread.StartClock();
  output_.breaks = true;
  WaitForFailure(thread);
  EXPECT_EQ(thread.failure(), "the line is gone");
  EXPECT_FALSE(output_.armed());
}

TEST_F(OutputThreadTest, OneThatCannotBeMadeSafeAtTheEndIsAFailure) {
  output_.stays_on = true;
  OutputThread thread(output_, handover_);
  thread.StartClock();
  WaitForBeats(1);
  thread.Stop();
  EXPECT_TRUE(thread.has_failed());
  EXPECT_EQ(thread.failure(), "it does not take what is safe");
}

TEST_F(OutputThreadTest, ARunThatStandsStillIsAFailure) {
  OutputThread thread(output_, handover_);
  thread.StartClock();
  WaitForFailure(thread);
  EXPECT_GT(output_.beat_ns(), OutputThread::kSilentRun);
  EXPECT_THAT(thread.failure(), HasSubstr("stood still for 1 s"));
  EXPECT_FALSE(output_.armed());
}

TEST_F(OutputThreadTest, WhatFindsNoRoomIsAFailure) {
  output::Handover one(1);
  one.Put(At(kAnHour));
  one.Put(At(kAnHour));
  OutputThread thread(output_, one);
  thread.StartClock();
  WaitForFailure(thread);
  EXPECT_THAT(thread.failure(), HasSubstr("too slow, 1 states"));
}

}  // namespace
}  // namespace drycrank::io
