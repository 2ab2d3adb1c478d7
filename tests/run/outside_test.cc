// SPDX-License-Identifier: Apache-2.0
//
// What comes in from outside and should not be as it is: a second node with our identifiers, a flood.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "bus/inproc_bus.h"
#include "run/runner.h"
#include "tests/run/loaded.h"

namespace drycrank::run {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

class Notes : public RunObserver {
 public:
  void OnNote(const std::string& note, TimeNs /*t_ns*/) override { texts.push_back(note); }
  std::vector<std::string> texts;
};

class Outside : public testing::Test {
 protected:
  // A run in which a node outside sends `id` each 100 ms, for so long.
  std::vector<std::string> NotesOf(std::uint32_t id, bool plays_controller, double for_s) {
    VirtualClock clock;
    auto hub = std::make_shared<bus::InprocHub>(clock);
    bus::InprocBus ours(hub), theirs(hub);
    RunOptions options;
    options.clock = &clock;
    options.controller = plays_controller;
    options.endless = true;
    options.interfaces = {&ours};
    Runner runner(*loaded_.bench, *loaded_.scenario, options);
    Notes notes;
    runner.AddObserver(&notes);
    runner.Start();
    runner.StartClock(clock);
    bus::Frame frame;
    frame.id = id;
    frame.length = 8;
    for (TimeNs t_ns = 0; t_ns < FromSeconds(for_s); t_ns += 100 * kNsPerMs) {
      clock.WaitUntil(t_ns, {});
      theirs.Send(frame);
      runner.Poll(t_ns);
      runner.RunTo(t_ns);
    }
    return notes.texts;
  }

  profile::LoadedScenario loaded_ = Shipped("hill_climb/healthy");
};

// 120 is the controller's engine_fast in that bench.
TEST_F(Outside, ASecondNodeWithOurIdentifierIsNoted) {
  EXPECT_THAT(NotesOf(0x120, true, 5),
              ElementsAre(HasSubstr("engine_fast (120) is sent by another node too: ")));
}

TEST_F(Outside, AndEachTenSecondsWithTheNumberOfFrames) {
  EXPECT_THAT(NotesOf(0x120, true, 15), ElementsAre(HasSubstr("another node too: "),
                                                    HasSubstr("another node too, 100 frames: ")));
}

TEST_F(Outside, TheRealControllerAloneIsNoSecondNode) {
  EXPECT_THAT(NotesOf(0x120, false, 5), IsEmpty());
  EXPECT_THAT(NotesOf(0x7E8, true, 5), IsEmpty());  // an identifier that nobody here sends
}

class Times : public RunObserver {
 public:
  void OnFrame(const bus::TimedFrame& frame) override {
    if (!frame.sent && frame.frame.id == 0x7E8) ms.push_back(frame.t_ns / kNsPerMs);
  }
  std::vector<TimeNs> ms;
};

// Frames of 10, 20 and 30 ms are met by a run that stands at 0 and comes to now, 30 ms, by steps.
TEST_F(Outside, WhoIsBehindGivesEachFrameItsOwnTime) {
  VirtualClock clock;
  auto hub = std::make_shared<bus::InprocHub>(clock);
  bus::InprocBus ours(hub), theirs(hub);
  RunOptions options;
  options.clock = &clock;
  options.endless = true;
  options.interfaces = {&ours};
  Runner runner(*loaded_.bench, *loaded_.scenario, options);
  Times times;
  runner.AddObserver(&times);
  runner.Start();
  runner.StartClock(clock);
  bus::Frame frame;
  frame.id = 0x7E8;
  for (int ms = 10; ms <= 30; ms += 10) {
    clock.WaitUntil(ms * kNsPerMs, {});
    theirs.Send(frame);
  }
  for (TimeNs t_ns = 2 * kNsPerMs; t_ns <= 30 * kNsPerMs; t_ns += 2 * kNsPerMs) {
    runner.Poll(t_ns, t_ns == 30 * kNsPerMs);
    runner.RunTo(t_ns);
  }
  EXPECT_THAT(times.ms, ElementsAre(10, 20, 30));
}

// An interface on which another frame is there whenever one was read, each a microsecond later.
class Flood : public bus::CanBus {
 public:
  explicit Flood(ManualClock& clock) : clock_(clock) {}
  std::string Description() const override { return "flood"; }
  bool IsVirtual() const override { return true; }
  bool Send(const bus::Frame&) override { return true; }
  std::optional<bus::TimedFrame> Receive() override {
    if (++given > kMost) return std::nullopt;
    clock_.Advance(1000);
    bus::TimedFrame frame;
    frame.t_ns = clock_.Now();
    frame.frame.id = 0x7FF;
    return frame;
  }
  std::optional<bus::BusEvent> NextEvent() override { return std::nullopt; }
  const bus::BusCounters& counters() const override { return counters_; }

  static constexpr int kMost = 100'000;
  int given = 0;

 private:
  ManualClock& clock_;
  bus::BusCounters counters_;
};

TEST_F(Outside, AFloodDoesNotKeepARunFromWhatIsDue) {
  ManualClock clock;
  Flood flood(clock);
  RunOptions options;
  options.clock = &clock;
  options.endless = true;
  options.interfaces = {&flood};
  Runner runner(*loaded_.bench, *loaded_.scenario, options);
  runner.Start();
  runner.Poll(clock.Now());
  EXPECT_LT(flood.given, 100);
  EXPECT_GT(flood.given, 0);
}

}  // namespace
}  // namespace drycrank::run
