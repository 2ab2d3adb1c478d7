// SPDX-License-Identifier: Apache-2.0
//
// What a run plays before its time: it leaves when it is due and not before, nothing else is done
// first, and what comes in between keeps its own time.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <fstream>
#include <string>
#include <vector>

#include "bus/frame_text.h"
#include "bus/inproc_bus.h"
#include "run/pace.h"
#include "tests/run/loaded.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::run {
namespace {

class Frames : public RunObserver {
 public:
  void OnFrame(const bus::TimedFrame& frame) override { seen.push_back(frame); }
  std::vector<bus::TimedFrame> seen;
};

class AheadTest : public testing::Test, public RunObserver {
 protected:
  void OnNote(const std::string& note, TimeNs /*t_ns*/) override { notes.push_back(note); }
  std::vector<std::string> notes;

  AheadTest() {
    loaded_.bench->controller->diagnostics->answer_ms = 0.2;
    scenario_.steps.resize(1);
    scenario_.steps[0].name = "live";
    scenario_.steps[0].for_s = 1;
    RunOptions options;
    options.interfaces = {&ours_};
    options.clock = &clock_;
    runner_.emplace(*loaded_.bench, scenario_, options);
    runner_->AddObserver(&frames_);
    runner_->Start();
  }
  // Everything up to this instant, and the clock there.
  void PlayTo(TimeNs t_ns) {
    clock_.WaitUntil(t_ns, {});
    runner_->Poll(t_ns);
    runner_->RunTo(t_ns);
    while (theirs_.Receive()) {
    }
    frames_.seen.clear();
  }
  std::size_t Arrived() {
    std::size_t count = 0;
    while (theirs_.Receive()) ++count;
    return count;
  }
  static bus::Frame Text(const char* text) { return *bus::ParseFrameText(text); }

  profile::LoadedScenario loaded_ = Shipped("hill_climb/healthy");
  profile::Scenario scenario_;
  ManualClock clock_;
  std::shared_ptr<bus::InprocHub> hub_ = std::make_shared<bus::InprocHub>(clock_);
  bus::InprocBus ours_{hub_}, theirs_{hub_};
  std::optional<Runner> runner_;
  Frames frames_;
};

TEST_F(AheadTest, LeavesAtItsInstantBeforeAnybodyHereIsTold) {
  PlayTo(405 * kNsPerMs);
  const TimeNs due_ns = runner_->NextDueNs();
  ASSERT_GT(due_ns, 405 * kNsPerMs);
  runner_->Prepare();
  EXPECT_EQ(runner_->NextDueNs(), due_ns);
  runner_->Poll(due_ns - 1);
  EXPECT_EQ(Arrived(), 0u);
  clock_.WaitUntil(due_ns, {});
  runner_->Poll(due_ns);
  const std::size_t sent = Arrived();
  EXPECT_GT(sent, 0u);
  EXPECT_TRUE(frames_.seen.empty());
  runner_->RunTo(due_ns);
  EXPECT_EQ(Arrived(), 0u);  // once
  ASSERT_EQ(frames_.seen.size(), sent);
  for (const bus::TimedFrame& frame : frames_.seen) EXPECT_EQ(frame.t_ns, due_ns);
  EXPECT_GT(runner_->NextDueNs(), due_ns);
}

TEST_F(AheadTest, AFrameThatComesInBetweenKeepsItsTimeAndItsPlace) {
  PlayTo(405 * kNsPerMs);
  const TimeNs due_ns = runner_->NextDueNs();
  runner_->Prepare();
  const TimeNs came_ns = (405 * kNsPerMs + due_ns) / 2;
  clock_.WaitUntil(came_ns, {});
  theirs_.Send(Text("7AA#01"));
  clock_.WaitUntil(due_ns, {});
  runner_->Poll(due_ns);
  runner_->RunTo(due_ns);
  ASSERT_GE(frames_.seen.size(), 2u);
  EXPECT_EQ(frames_.seen[0].frame.id, 0x7AAu);
  EXPECT_EQ(frames_.seen[0].t_ns, came_ns);
  EXPECT_EQ(frames_.seen[1].t_ns, due_ns);
}

// The controller is asked for its engine speed (SAE J1979 service 01, PID 0C) when what goes out at
// 411 ms is made already; it answers after 0.2 ms.
TEST_F(AheadTest, AnAnswerDoesNotWaitForWhatWasMadeAhead) {
  PlayTo(410 * kNsPerMs);
  const TimeNs due_ns = runner_->NextDueNs();
  ASSERT_EQ(due_ns, 411 * kNsPerMs);
  runner_->Prepare();
  theirs_.Send(Text("7DF#02010C0000000000"));
  runner_->Poll(clock_.Now());
  std::vector<bus::TimedFrame> answers;
  for (int i = 0; i < 20 && answers.empty(); ++i) {
    clock_.WaitUntil(runner_->NextDueNs(), {});
    runner_->Poll(clock_.Now());
    runner_->RunTo(clock_.Now());
    while (const auto frame = theirs_.Receive()) {
      if (frame->frame.id == 0x7E8) answers.push_back(*frame);
    }
  }
  ASSERT_EQ(answers.size(), 1u);
  EXPECT_EQ(answers[0].t_ns, 410 * kNsPerMs + 200 * kNsPerUs);
}

TEST_F(AheadTest, WhatCameBeforeTheRunBeganIsNotOfIt) {
  class Early : public bus::InprocBus {
   public:
    using bus::InprocBus::InprocBus;
    std::optional<bus::TimedFrame> Receive() override {
      auto frame = bus::InprocBus::Receive();
      if (frame) frame->t_ns -= 5;
      return frame;
    }
  };
  Early early(hub_);
  RunOptions options;
  options.interfaces = {&early};
  Runner runner(*loaded_.bench, scenario_, options);
  Frames frames;
  runner.AddObserver(&frames);
  runner.Start();
  theirs_.Send(Text("7AA#01"));  // at -5 ns
  clock_.WaitUntil(5, {});
  theirs_.Send(Text("7AB#01"));  // at 0
  runner.Poll(clock_.Now());
  std::vector<std::uint32_t> ids;
  for (const auto& frame : frames.seen) {
    if (!frame.sent) ids.push_back(frame.frame.id);
  }
  EXPECT_EQ(ids, std::vector<std::uint32_t>{0x7AB});
}

TEST_F(AheadTest, TheEndIsNotBeforeWhatWasPlayed) {
  class End : public RunObserver {
   public:
    void OnSample(TimeNs t_ns) override { sample_ns = t_ns; }
    void OnFinish(TimeNs t_ns) override { end_ns = t_ns; }
    TimeNs sample_ns = 0, end_ns = 0;
  } end;
  runner_->AddObserver(&end);
  PlayTo(401 * kNsPerMs);
  while (end.sample_ns < 405 * kNsPerMs) {
    runner_->Prepare();
    if (end.sample_ns < 405 * kNsPerMs) runner_->RunTo(runner_->NextDueNs());
  }
  EXPECT_LT(runner_->now_ns(), end.sample_ns);
  runner_->Finish(runner_->now_ns());
  EXPECT_EQ(end.end_ns, end.sample_ns);
}

// A recording on an interface: 210 is the bench's "chassis", 7AA is nobody's.
class ReplayedOutside : public AheadTest {
 protected:
  std::vector<std::string> PlayedOutside(ManualClock& clock) {
    const ScratchFolder folder;
    std::ofstream(folder.Path("a.log")) << "(1700000000.000000) vehicle 210#01000000\n"
                                           "(1700000000.010000) vehicle 7AA#AA\n"
                                           "(1700000000.050000) vehicle 7AA#AB\n"
                                           "(1700000000.060000) vehicle 7AA#AC\n"
                                           "(1700000000.200000) vehicle 210#02000000\n";
    profile::Replay& replay = scenario_.replays.emplace_back();
    replay.file = folder.Path("a.log");
    replay.begin_s = 0.4;
    auto hub = std::make_shared<bus::InprocHub>(clock);
    bus::InprocBus ours(hub), theirs(hub);
    RunOptions options;
    options.interfaces = {&ours};
    options.clock = &clock;
    Runner runner(*loaded_.bench, scenario_, options);
    runner.AddObserver(this);
    runner.Start();
    Pace(runner, clock, {});
    const int chassis = profile::FindMessage(*loaded_.bench, "chassis").message;
    chassis_frames_ = runner.carrier().lateness(0, static_cast<std::size_t>(chassis))->count();
    std::vector<std::string> arrived;
    while (const auto frame = theirs.Receive()) {
      if (frame->frame.id != 0x210 && frame->frame.id != 0x7AA) continue;
      arrived.push_back(fmt::format("{:g}:{:X}#{:02X}", ToMs(frame->t_ns), frame->frame.id,
                                    frame->frame.data[0]));
    }
    return arrived;
  }
  std::uint64_t chassis_frames_ = 0;
};

TEST_F(ReplayedOutside, LeavesAtTheTimesOfTheRecordingAndItsLatenessIsKept) {
  ManualClock clock;
  EXPECT_EQ(PlayedOutside(clock),
            (std::vector<std::string>{"400:210#01", "410:7AA#AA", "450:7AA#AB", "460:7AA#AC",
                                      "600:210#02"}));
  EXPECT_EQ(chassis_frames_, 2u);
  EXPECT_EQ(notes.size(), 1u);  // that it plays one
}

// The machine stands still from 410 to 475 ms: what it has slept over by 20 ms or more is left out;
// 460 leaves 15 ms late.
TEST_F(ReplayedOutside, WhatWasSleptOverIsLeftOutAndSaid) {
  class Stalling : public ManualClock {
   public:
    void WaitUntil(TimeNs due_ns, std::span<const int> descriptors) override {
      ManualClock::WaitUntil(due_ns, descriptors);
      if (done_ || Now() < 410 * kNsPerMs) return;
      done_ = true;
      Advance(65 * kNsPerMs);
    }

   private:
    bool done_ = false;
  } clock;
  EXPECT_EQ(PlayedOutside(clock),
            (std::vector<std::string>{"400:210#01", "475:7AA#AC", "600:210#02"}));
  ASSERT_EQ(notes.size(), 2u);
  EXPECT_NE(notes[1].find("2 frames of recordings were left out"), std::string::npos);
}

}  // namespace
}  // namespace drycrank::run
