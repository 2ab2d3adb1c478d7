// SPDX-License-Identifier: Apache-2.0
#include "run/replay.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <map>

#include "bus/layout.h"
#include "study/play.h"
#include "tests/run/loaded.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::run {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

// A log of three frames on the hill-climb car's bus: chassis (0x210, the simulator's), an
// identifier that the bench does not know, display_temps (0x510, the display's); one on another
// interface.
const char kLog[] =
    "(1700000000.000000) vehicle 210#01000000\n"
    "(1700000000.010000) vehicle 7AA#AA\n"
    "(1700000000.015000) other 7BB#BB\n"
    "(1700000000.020000) vehicle 510#0000\n"
    "(1700000000.030000) vehicle 210#02000000\n";

class ReplayTest : public testing::Test {
 protected:
  ReplayTest() {
    profile_.file = path_;
    Write(kLog);
  }
  void Write(const std::string& text) { std::ofstream(path_, std::ios::binary) << text; }

  // "ms:identifier" of what is played up to a time.
  std::vector<std::string> Played(TimeNs until_ns = kNsPerS) {
    Replay replay(bench_, profile_, [](int, TimeNs) { return 0.0; });
    for (const Diagnostic& problem : replay.problems()) ADD_FAILURE() << Format(problem);
    std::vector<std::string> played;
    while (replay.NextDue() <= until_ns) {
      const TimeNs due_ns = replay.NextDue();
      played.push_back(fmt::format("{:g}:{:X}", ToMs(due_ns), replay.Take(due_ns).frame.id));
    }
    return played;
  }
  std::vector<std::string> Notes() {
    Replay replay(bench_, profile_, [](int, TimeNs) { return 0.0; });
    while (replay.NextDue() <= kNsPerS) replay.Take(replay.NextDue());
    std::vector<std::string> notes;
    for (std::string note = replay.TakeNote(); !note.empty(); note = replay.TakeNote()) {
      notes.push_back(note);
    }
    return notes;
  }
  std::string Problem() {
    const Replay replay(bench_, profile_, [](int, TimeNs) { return 0.0; });
    return replay.problems().empty() ? "" : Format(replay.problems()[0]);
  }

  profile::LoadedScenario loaded_ = Shipped("hill_climb/healthy");
  const profile::Bench& bench_ = *loaded_.bench;
  profile::Replay profile_;
  ScratchFolder folder_;
  std::string path_ = folder_.Path("replay.log");
};

TEST_F(ReplayTest, PlaysAllButTheDisplaysAtTheTimesOfTheRecording) {
  EXPECT_THAT(Played(), ElementsAre("0:210", "10:7AA", "30:210"));
}

TEST_F(ReplayTest, TimesAreShiftedScaledAndCut) {
  profile_.begin_s = 0.5;
  profile_.speed = 2;
  EXPECT_THAT(Played(), ElementsAre("500:210", "505:7AA", "515:210"));
  profile_.from_s = 0.005;
  profile_.to_s = 0.03;
  EXPECT_THAT(Played(), ElementsAre("502.5:7AA"));
}

TEST_F(ReplayTest, IdentifiersAndInterfaceAreChosen) {
  profile_.without = {{0x210, false}};
  EXPECT_THAT(Played(), ElementsAre("10:7AA"));
  profile_ = {};
  profile_.file = path_;
  profile_.only = {{0x510, false}};
  profile_.instead_of = {profile::Sender::kDisplay};
  EXPECT_THAT(Played(), ElementsAre("20:510"));
  profile_ = {};
  profile_.file = path_;
  profile_.interface = "other";
  EXPECT_THAT(Played(), ElementsAre("15:7BB"));  // times count from the file's first frame
}

// The last frame is due at 30 ms, the next round begins 5 ms after it.
TEST_F(ReplayTest, LoopsAfterAPause) {
  profile_.loop = true;
  profile_.pause_s = 0.005;
  EXPECT_THAT(Played(70 * kNsPerMs),
              ElementsAre("0:210", "10:7AA", "30:210", "35:210", "45:7AA", "65:210", "70:210"));
}

// One frame, or a burst of one time: repeated at once it would leave no time for anything else.
TEST_F(ReplayTest, ARoundThatTakesNoTimeIsPlayedOnceAndSaid) {
  Write("(1700000000.000000) vehicle 001#\n(1700000000.000000) vehicle 002#\n");
  profile_.loop = true;
  profile_.pause_s = 0;
  EXPECT_THAT(Played(), ElementsAre("0:1", "0:2"));
  EXPECT_THAT(Notes(),
              ElementsAre(HasSubstr("less than 1 ms, so it is not repeated; write 'pause_s'")));
  profile_.pause_s = 0.4;
  EXPECT_THAT(Played(), ElementsAre("0:1", "0:2", "400:1", "400:2", "800:1", "800:2"));
}

// A round that begins in the middle goes on there; damage is told once, be it before the round or in
// each.
TEST_F(ReplayTest, LoopsGoBackToFromAndNotToTheBegin) {
  const std::string damaged = "(1700000000.012000) vehicle no frame\n";
  profile_.loop = true;
  profile_.pause_s = 0.01;
  profile_.from_s = 0.01;
  for (const auto& [before, notes] : {std::pair{true, 1}, std::pair{false, 1}}) {
    const std::size_t at = std::string(kLog).find(before ? "(1700000000.000" : "(1700000000.030");
    Write(std::string(kLog).insert(at, damaged));
    Replay replay(bench_, profile_, [](int, TimeNs) { return 0.0; });
    std::vector<std::string> played;
    for (int i = 0; i < 7; ++i) {
      const TimeNs due_ns = replay.NextDue();
      played.push_back(fmt::format("{:g}:{:X}", ToMs(due_ns), replay.Take(due_ns).frame.id));
    }
    EXPECT_THAT(played,
                ElementsAre("0:7AA", "20:210", "30:7AA", "50:210", "60:7AA", "80:210", "90:7AA"));
    int told = 0;
    while (!replay.TakeNote().empty()) ++told;
    EXPECT_EQ(told, notes);
  }
}

TEST_F(ReplayTest, TimesThatGoBackKeepTheOrderOfTheFile) {
  Write(
      "(1700000000.000000) vehicle 001#\n(1700000000.020000) vehicle 002#\n"
      "(1700000000.010000) vehicle 003#\n(1700000000.030000) vehicle 004#\n");
  EXPECT_THAT(Played(), ElementsAre("0:1", "20:2", "20:3", "30:4"));
}

TEST_F(ReplayTest, ARecordingOfARunKeepsItsOwnZero) {
  Write("(0000000000.007000) vehicle 001#\n");
  EXPECT_THAT(Played(), ElementsAre("7:1"));
}

TEST_F(ReplayTest, ErrorReportsOfTheInterfaceAreNotPlayed) {
  Write("(0.001000) vehicle 20000040#0000000000000000\n(0.002000) vehicle 001#R4\n");
  EXPECT_THAT(Played(), ElementsAre("2:1"));
}

TEST_F(ReplayTest, WhatCannotBePlayedIsSaidWithARemedy) {
  profile_.interface = "can9";
  EXPECT_THAT(Problem(), HasSubstr("has the interfaces vehicle, other; write 'interface'"));
  profile_.interface.clear();
  Write("(0.0) a 001#\n(0.0) b 001#\n");
  EXPECT_THAT(Problem(), HasSubstr("has the interfaces a, b; write 'interface'"));
  Write("(0.0) vehicle 510#\n");
  EXPECT_THAT(Problem(), HasSubstr("no frame to be played"));
  Write("kind: bench\n");
  EXPECT_THAT(Problem(), HasSubstr("it is not a candump log"));
  Write("(0.0) vehicle zzz\n");
  EXPECT_THAT(Problem(), HasSubstr("no frame that can be read"));
  profile_.file = "/nowhere.log";
  EXPECT_THAT(Problem(), HasSubstr("cannot be read"));
}

TEST_F(ReplayTest, DamageIsToldOnceAndTheRestIsPlayed) {
  Write("(0.001000) vehicle 001#\n(0.002000) vehicle zzz\n(0.003000) vehicle 003#\n");
  Replay replay(bench_, profile_, [](int, TimeNs) { return 0.0; });
  EXPECT_THAT(replay.TakeNote(), HasSubstr("damaged at byte 24"));  // one frame is read ahead
  EXPECT_EQ(replay.Take(kNsPerMs).frame.id, 1u);
  EXPECT_EQ(replay.TakeNote(), "");
  EXPECT_EQ(replay.Take(3 * kNsPerMs).frame.id, 3u);
}

// engine_fast (profiles/parts/buses): speed in bytes 0 and 1, 0.25 r/min; cam angle in bytes 4 and
// 5; counter in the low half of byte 6; checksum in byte 7.
TEST_F(ReplayTest, LiveValuesGoIntoTheRecordedFrameWithCounterAndChecksumAnew) {
  Write("(0.000000) vehicle 120#1111332255660700\n(0.010000) vehicle 120#2222332277880700\n");
  const int message = profile::FindMessage(bench_, "engine_fast").message;
  const profile::Message& fast = bench_.buses[0].messages[static_cast<std::size_t>(message)];
  profile_.overrides = {{message, {{0, 0}}}};  // engine_speed from the stimulus engine_speed
  profile_.loop = true;
  Replay replay(bench_, profile_,
                [](int stimulus, TimeNs) { return stimulus == 0 ? 1000.0 : -1.0; });
  for (std::uint64_t i = 0; i < 20; ++i) {
    const bus::Frame frame = replay.Take(replay.NextDue()).frame;
    EXPECT_EQ(frame.data[0], 0xA0);  // 1000 / 0.25 = 4000 = 0x0FA0
    EXPECT_EQ(frame.data[1], 0x0F);
    EXPECT_EQ(frame.data[2], 0x33);  // as recorded
    EXPECT_EQ(frame.data[4], i % 2 == 0 ? 0x55 : 0x77);
    EXPECT_EQ(bus::CounterOf(fast, frame), i % 16);  // over the seam of the rounds too
    EXPECT_TRUE(bus::ChecksumIsRight(fast, frame));
  }
}

// ---- a recording of a whole run ----------------------------------------------------------------

class ReplayedRun : public testing::Test {
 protected:
  study::PlayResult Play(const std::string& record_folder = "") {
    VirtualClock clock;
    study::PlayOptions options;
    options.clock = &clock;
    options.pictures = false;
    options.record_folder = record_folder;
    options.observers = {&identifiers_};
    return study::Play(*loaded_.bench, *loaded_.scenario, options);
  }
  void ReplayTheRecord() {
    profile::Replay replay;
    replay.file = folder_.Path("record/frames.pcapng");
    loaded_.scenario->replays = {replay};
    const Replay playable(*loaded_.bench, replay, [](int, TimeNs) { return 0.0; });
    EXPECT_THAT(playable.problems(), IsEmpty());
  }
  std::vector<std::string> Failed(const study::PlayResult& result) {
    std::vector<std::string> names;
    for (const auto& verdict : result.report.verdicts) {
      if (verdict.outcome == check::Outcome::kMet) continue;
      names.push_back(
          loaded_.scenario->expectations[static_cast<std::size_t>(verdict.expectation)].name);
    }
    return names;
  }
  struct Identifiers : RunObserver {
    void OnFrame(const bus::TimedFrame& frame) override { ++count[frame.frame.id]; }
    std::map<std::uint32_t, int> count;
  } identifiers_;

  profile::LoadedScenario loaded_ = Shipped("hill_climb/healthy");
  ScratchFolder folder_;
};

TEST_F(ReplayedRun, GivesTheVerdictsOfTheRun) {
  const study::PlayResult live = Play(folder_.Path("record"));
  ASSERT_EQ(live.problem, "");
  const auto sent = identifiers_.count;
  identifiers_.count.clear();
  ReplayTheRecord();
  const study::PlayResult replayed = Play();
  EXPECT_EQ(identifiers_.count, sent);  // nothing doubled, nothing left out
  ASSERT_EQ(replayed.report.verdicts.size(), live.report.verdicts.size());
  for (std::size_t i = 0; i < live.report.verdicts.size(); ++i) {
    EXPECT_EQ(replayed.report.verdicts[i].outcome, live.report.verdicts[i].outcome) << i;
    EXPECT_EQ(replayed.report.verdicts[i].margin, live.report.verdicts[i].margin) << i;
    // The display's own frames no longer wait on the wire for those that are replayed: they arrive
    // up to a frame's length earlier.
    EXPECT_NEAR(static_cast<double>(replayed.report.verdicts[i].worst_ns),
                static_cast<double>(live.report.verdicts[i].worst_ns), 0.3e6)
        << i;
  }
  EXPECT_THAT(Failed(replayed), IsEmpty());
}

TEST_F(ReplayedRun, ShowsADisplayWithTheWrongLayout) {
  ASSERT_EQ(Play(folder_.Path("record")).problem, "");
  ReplayTheRecord();
  profile::Fault fault;
  fault.name = "scale";
  fault.kind = profile::fault::Layout{{}, 1.0, {}, {}};  // ten times too large
  fault.at = "engine_pressures.oil_pressure";
  loaded_.scenario->faults = {fault};
  EXPECT_THAT(Failed(Play()), ElementsAre("display_shows_oil_pressure"));
}

TEST_F(ReplayedRun, IsSaidInTheReport) {
  ASSERT_EQ(Play(folder_.Path("record")).problem, "");
  ReplayTheRecord();
  EXPECT_THAT(Play().report.notes,
              testing::Contains(HasSubstr("plays the recording frames.pcapng")));
}

// One digit of one time flipped (1700000000 to 1700900000): that frame is left out and named, the ones
// behind it keep their times.
TEST_F(ReplayTest, OneDamagedTimeStopsNothing) {
  Write(
      "(1700000000.000000) vehicle 210#01000000\n"
      "(1700900000.010000) vehicle 7AA#AA\n"
      "(1700000000.020000) vehicle 7AB#AB\n"
      "(1700000000.030000) vehicle 210#02000000\n");
  EXPECT_THAT(Played(), ElementsAre("0:210", "20:7AB", "30:210"));
  EXPECT_THAT(
      Notes(),
      ElementsAre(HasSubstr("is damaged at byte 41: a time that is 900000 s off those around it")));
}

TEST_F(ReplayTest, AClockThatWasSetBackGoesOnFromThere) {
  Write(
      "(1700000000.000000) vehicle 210#01000000\n"
      "(1700000000.010000) vehicle 7AA#AA\n"
      "(1600000000.000000) vehicle 7AB#AB\n"
      "(1600000000.020000) vehicle 210#02000000\n");
  EXPECT_THAT(Played(), ElementsAre("0:210", "10:7AA", "10:7AB", "30:210"));
  EXPECT_THAT(Notes(), ElementsAre(HasSubstr("its clock was set back by 1e+08 s")));
}

TEST_F(ReplayTest, ALongSilenceIsSaid) {
  Write(
      "(1700000000.000000) vehicle 210#01000000\n"
      "(1700000900.000000) vehicle 7AA#AA\n");
  EXPECT_THAT(Played(), ElementsAre("0:210"));
  EXPECT_THAT(Notes(), ElementsAre(HasSubstr("it is silent for 900 s")));
}

}  // namespace
}  // namespace drycrank::run
