// SPDX-License-Identifier: Apache-2.0
#include "record/record.h"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <sstream>

#include "bus/frame_text.h"
#include "bus/recording.h"
#include "study/play.h"
#include "tests/run/loaded.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::record {
namespace {
namespace fs = std::filesystem;

class RecordTest : public testing::Test {
 protected:
  study::PlayResult Play(bool overwrite = false) {
    VirtualClock clock;
    study::PlayOptions options;
    options.clock = &clock;
    options.pictures = false;
    options.record_folder = folder_.string();
    options.overwrite = overwrite;
    options.files = loaded_.files;
    return study::Play(*loaded_.bench, *loaded_.scenario, options);
  }
  struct Judged {
    PlayedRecord played;
    std::vector<check::Verdict> verdicts;
  };
  Judged Judge() {
    scenario::Timeline timeline(*loaded_.bench, *loaded_.scenario);
    check::Checker checker(*loaded_.bench, *loaded_.scenario, timeline);
    PlayedRecord played =
        PlayRecord(folder_.string(), *loaded_.bench, *loaded_.scenario, timeline, checker);
    return {played, played.steps.empty() ? std::vector<check::Verdict>() : checker.verdicts()};
  }
  void Rewrite(const std::string& from, const std::string& to, const char* file = "events.csv") {
    std::stringstream text;
    text << std::ifstream(folder_ / file).rdbuf();
    std::string all = text.str();
    const auto at = all.find(from);
    ASSERT_NE(at, std::string::npos);
    all.replace(at, from.size(), to);
    std::ofstream(folder_ / file) << all;
  }

  profile::LoadedScenario loaded_ = run::Shipped("kart/reference_missing");
  ScratchFolder scratch_;
  fs::path folder_ = scratch_.path() / "record";
};

TEST_F(RecordTest, IsJudgedAsTheRunWas) {
  const study::PlayResult run = Play();
  ASSERT_EQ(run.problem, "");
  const Judged judged = Judge();
  EXPECT_TRUE(judged.played.problems.empty());
  EXPECT_EQ(judged.played.duration_ns, run.report.duration_ns);
  ASSERT_EQ(judged.verdicts.size(), run.report.verdicts.size());
  for (std::size_t i = 0; i < judged.verdicts.size(); ++i) {
    EXPECT_EQ(judged.verdicts[i].outcome, run.report.verdicts[i].outcome);
    EXPECT_EQ(judged.verdicts[i].margin, run.report.verdicts[i].margin);
    EXPECT_EQ(judged.verdicts[i].worst_ns, run.report.verdicts[i].worst_ns);
    EXPECT_EQ(judged.verdicts[i].detail, run.report.verdicts[i].detail);
  }
}

// The frames twice, in two forms: they must tell the same.
TEST_F(RecordTest, FramesForNetworkToolsAreThoseOfTheEvents) {
  ASSERT_EQ(Play().problem, "");
  std::ifstream events(folder_ / "events.csv");
  std::ifstream file(folder_ / "frames.pcapng", std::ios::binary);
  bus::RecordingReader reader(file);
  bus::RecordedFrame frame;
  std::uint64_t frames = 0;
  for (std::string line; std::getline(events, line);) {
    if (line.find(",frame,") == std::string::npos) continue;
    ASSERT_TRUE(reader.Next(frame));
    fmt::memory_buffer text;
    fmt::format_to(fmt::appender(text), "{},frame,{},{},", frame.t_ns,
                   reader.interfaces()[static_cast<std::size_t>(frame.interface)],
                   frame.direction == bus::Direction::kSent ? "tx" : "rx");
    bus::AppendFrameText(frame.frame, text);
    ASSERT_EQ(fmt::to_string(text), line);
    ++frames;
  }
  EXPECT_FALSE(reader.Next(frame));
  EXPECT_EQ(reader.damaged(), 0u);
  EXPECT_GT(frames, 100u);
}

TEST_F(RecordTest, AChangedFrameIsJudgedOtherwise) {
  ASSERT_EQ(Play().problem, "");
  const auto before = Judge();
  // The switched-on kart reports speed 0; make one frame say 65535 r/min.
  Rewrite(",frame,dash,tx,400##50000", ",frame,dash,tx,400##5FFFF");
  const auto after = Judge();
  const auto wrong = [](const Judged& judged) {
    return std::count_if(judged.verdicts.begin(), judged.verdicts.end(),
                         [](const auto& v) { return v.outcome != check::Outcome::kMet; });
  };
  EXPECT_GT(wrong(after), wrong(before));  // its checksum no longer fits
}

TEST_F(RecordTest, DamageHasALineAndKeepsWhatWasGood) {
  ASSERT_EQ(Play().problem, "");
  Rewrite(",step,1,push_start", ",step,1,pushed");
  const Judged judged = Judge();
  ASSERT_EQ(judged.played.problems.size(), 1u);
  EXPECT_GT(judged.played.problems[0].place.line, 10);
  EXPECT_EQ(judged.played.steps.size(), 1u);
  EXPECT_GT(judged.played.frames, 10u);
}

// As a process that was killed leaves it: a shorter frame than the one that was on the bus.
TEST_F(RecordTest, HalfALineAtTheEndIsNone) {
  ASSERT_EQ(Play().problem, "");
  std::ifstream file(folder_ / "events.csv");
  std::string text((std::istreambuf_iterator<char>(file)), {});
  const std::size_t frame = text.rfind(",frame,");
  const std::uint64_t frames = Judge().played.frames;
  std::ofstream(folder_ / "events.csv") << text.substr(0, text.find('\n', frame) - 4);
  const Judged judged = Judge();
  ASSERT_EQ(judged.played.problems.size(), 1u);
  EXPECT_EQ(judged.played.problems[0].what, "the record has no end: the run was cut short");
  EXPECT_EQ(judged.played.frames, frames - 1);
}

TEST_F(RecordTest, ANewerFormatIsRefusedByName) {
  ASSERT_EQ(Play().problem, "");
  EXPECT_EQ(WhyNotReadRecord(folder_.string()), "");
  Rewrite("\"format\": 2", "\"format\": 3", "record.json");
  const Judged judged = Judge();
  ASSERT_EQ(judged.played.problems.size(), 1u);
  EXPECT_EQ(judged.played.problems[0].what, "format 3 is newer than this program reads (2)");
  EXPECT_TRUE(judged.played.steps.empty());
  EXPECT_NE(WhyNotReadRecord(folder_.string()).find("format 3 is newer"), std::string::npos);
}

TEST_F(RecordTest, TheFormatBeforeIsJudged) {
  ASSERT_EQ(Play().problem, "");
  Rewrite("\"format\": 2", "\"format\": 1", "record.json");
  fs::remove(folder_ / "edges.bin");  // it had text instead, which is not judged
  EXPECT_TRUE(Judge().played.problems.empty());
}

TEST_F(RecordTest, ARecordFromBeforeFormatNumbersIsRead) {
  ASSERT_EQ(Play().problem, "");
  Rewrite("\"format\": 2,", "", "record.json");
  EXPECT_TRUE(Judge().played.problems.empty());
}

TEST_F(RecordTest, IsNotOverwrittenUnasked) {
  ASSERT_EQ(Play().problem, "");
  EXPECT_NE(Play().problem.find("--overwrite"), std::string::npos);
  EXPECT_EQ(Play(true).problem, "");
}

TEST_F(RecordTest, AnotherScenariosRecordIsRefused) {
  ASSERT_EQ(Play().problem, "");
  loaded_ = run::Shipped("kart/healthy");
  const Judged judged = Judge();
  ASSERT_FALSE(judged.played.problems.empty());
  EXPECT_TRUE(judged.played.steps.empty());
}

TEST_F(RecordTest, AFolderThatCannotBeMadeIsSaid) {
  folder_ = "/proc/no/such/folder";
  EXPECT_NE(Play().problem.find("/proc/no/such/folder"), std::string::npos);
}

// A name with a line break, a comma and a quote: one line each for on and off, and nothing forged. What
// a spreadsheet reads from it (RFC 4180) is the name.
TEST_F(RecordTest, ANameCannotForgeALine) {
  profile::Fault fault;
  fault.name = "bad\n0,end\n, \"quoted\"";
  fault.kind = profile::fault::Open{};
  fault.at = loaded_.bench->wires[0].from;
  loaded_.scenario->faults = {fault};
  ASSERT_EQ(Play().problem, "");
  std::ifstream file(folder_ / "events.csv");
  int ends = 0, named = 0;
  for (std::string line; std::getline(file, line);) {
    ends += line.ends_with(",end,finished") ? 1 : 0;
    named += line == "0,fault,on,\"bad 0,end , \"\"quoted\"\"\"" ? 1 : 0;
  }
  EXPECT_EQ(ends, 1);
  EXPECT_EQ(named, 1);
  EXPECT_TRUE(Judge().played.problems.empty());
}

TEST_F(RecordTest, WhatWasQuotedIsReadBackAsItWas) {
  ASSERT_EQ(Play().problem, "");
  Rewrite(",end",
          ",note,\"one, \"\"two\"\"\"\n" + std::to_string(Judge().played.duration_ns) + ",end");
  const PlayedRecord played = Judge().played;
  ASSERT_TRUE(played.problems.empty());
  EXPECT_NE(played.notes.back().find(": one, \"two\""), std::string::npos);
}

}  // namespace
}  // namespace drycrank::record
