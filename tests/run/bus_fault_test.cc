// SPDX-License-Identifier: Apache-2.0
//
// Every kind of bus fault, put into a run and found by looking at the frames alone: its own
// expectation fails and no other. The twin without a fault meets all of them.
#include "run/bus_fault.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <vector>

#include "bus/layout.h"
#include "profile/load.h"
#include "run/runner.h"

namespace drycrank::run {
namespace {

using testing::Contains;
using testing::ElementsAre;
using testing::IsEmpty;

class Frames : public RunObserver {
 public:
  void OnFrame(const bus::TimedFrame& frame) override { seen.push_back(frame); }
  void OnNote(const std::string& note, TimeNs /*t_ns*/) override { notes.push_back(note); }
  void OnUnobservable(int bus, const std::string& /*why*/, TimeNs t_ns) override {
    lost.push_back({bus, t_ns / kNsPerMs});
  }
  void OnObservable(int bus, TimeNs t_ns) override { regained.push_back({bus, t_ns / kNsPerMs}); }
  std::vector<bus::TimedFrame> Of(std::uint32_t id) const {
    std::vector<bus::TimedFrame> of;
    for (const auto& f : seen) {
      if (f.frame.id == id && !f.frame.error) of.push_back(f);
    }
    return of;
  }
  std::vector<bus::TimedFrame> seen;
  std::vector<std::string> notes;
  std::vector<std::pair<int, TimeNs>> lost, regained;  // bus, ms
};

class BusFaultTest : public testing::Test {
 protected:
  void Add(const std::string& yaml) {
    profile::ParsedFault parsed = profile::ParseFault(*loaded_.bench, yaml);
    ASSERT_TRUE(parsed.fault) << yaml << ": " << Format(parsed.problems.at(0));
    loaded_.scenario->faults.push_back(*parsed.fault);
  }
  // Names of the expectations that were not met.
  std::vector<std::string> Failed() {
    frames_ = {};
    Runner runner(*loaded_.bench, *loaded_.scenario, {});
    runner.AddObserver(&frames_);
    runner.Start();
    runner.RunTo(60 * kNsPerS);
    std::vector<std::string> failed;
    for (const check::Verdict& v : runner.checker().verdicts()) {
      const auto& e = loaded_.scenario->expectations[static_cast<std::size_t>(v.expectation)];
      if (v.outcome != check::Outcome::kMet) failed.push_back(e.name);
      details_[e.name] = v.detail;
    }
    return failed;
  }
  std::vector<std::string> FailedWith(const std::string& yaml) {
    loaded_.scenario->faults.clear();
    Add(yaml);
    return Failed();
  }

  profile::LoadedScenario loaded_ =
      profile::LoadScenario(DRYCRANK_TESTS_DIR "/run/bus_faults.yaml");
  Frames frames_;
  std::map<std::string, std::string> details_;
};

TEST_F(BusFaultTest, WithoutAFaultNothingFails) {
  for (const Diagnostic& problem : loaded_.problems) ADD_FAILURE() << Format(problem);
  EXPECT_THAT(Failed(), IsEmpty());
  EXPECT_EQ(frames_.Of(0x210).size(), 15u);  // chassis, every 100 ms in [0, 1.5 s)
}

TEST_F(BusFaultTest, FaultsOfOneMessageFailItsPresence) {
  for (const char* yaml :
       {"{kind: message_missing, at: chassis}", "{kind: message_late, at: chassis, factor: 2}",
        "{kind: message_early, at: chassis, early_ms: 40, every: 3}",
        "{kind: message_doubled, at: chassis}",
        "{kind: length_wrong, at: chassis, length_bytes: 2}",
        "{kind: length_wrong, at: chassis, length_bytes: 8}"}) {
    EXPECT_THAT(FailedWith(yaml), ElementsAre("chassis_is_there")) << yaml;
  }
  EXPECT_EQ(details_["chassis_is_there"],
            "chassis was not received in 1500.0 ms; 15 frames had 8 bytes, should be 4");
}

TEST_F(BusFaultTest, WrongIdentifierIsMissingThereAndAStrangerHere) {
  EXPECT_THAT(FailedWith("{kind: identifier_wrong, at: chassis, id: 0x211}"),
              ElementsAre("chassis_is_there", "no_strangers"));
  EXPECT_THAT(details_["no_strangers"], testing::HasSubstr("does not know: 0x211;"));
}

TEST_F(BusFaultTest, ContentsFailTheirOwnExpectation) {
  EXPECT_THAT(FailedWith("{kind: bytes_swapped, at: engine_pressures.manifold}"),
              ElementsAre("manifold"));
  EXPECT_THAT(FailedWith("{kind: value_frozen, at: engine_pressures.manifold}"),
              ElementsAre("manifold"));
  EXPECT_THAT(FailedWith("{kind: value_frozen, at: engine_pressures}"), ElementsAre("manifold"));
  EXPECT_THAT(FailedWith("{kind: counter_stuck, at: engine_fast}"), ElementsAre("fast_counts"));
  EXPECT_THAT(FailedWith("{kind: counter_jumps, at: engine_fast, by: 3, every: 20}"),
              ElementsAre("fast_counts"));
  EXPECT_THAT(FailedWith("{kind: checksum_wrong, at: engine_fast}"), ElementsAre("fast_checksum"));
}

// Standing still: 101.3 kPa absolute is raw 1013 = 0x03F5, big-endian in bytes 0 and 1.
TEST_F(BusFaultTest, SwappedBytesStandInTheOtherOrder) {
  Failed();
  const auto right = frames_.Of(0x130).at(10).frame;
  FailedWith("{kind: bytes_swapped, at: engine_pressures.manifold}");
  const auto swapped = frames_.Of(0x130).at(10).frame;
  EXPECT_EQ(right.data[0], 0x03);
  EXPECT_EQ(swapped.data[0], right.data[1]);
  EXPECT_EQ(swapped.data[1], right.data[0]);
  EXPECT_EQ(swapped.data[2], right.data[2]);
}

TEST_F(BusFaultTest, CounterAndChecksumStayRightUnderAnotherIdentifier) {
  FailedWith("{kind: identifier_wrong, at: engine_fast, id: 0x121}");
  const profile::Message& fast = loaded_.bench->buses[0].messages[0];
  const auto seen = frames_.Of(0x121);
  ASSERT_GT(seen.size(), 100u);
  for (std::size_t i = 0; i < 20; ++i) {
    EXPECT_TRUE(bus::ChecksumIsRight(fast, seen[i].frame));
    EXPECT_EQ(bus::CounterOf(fast, seen[i].frame), i % 16);
  }
}

// 3 of 20 left out: frame 20 (the first has 0) carries 19 + 3 = 22, over 4 bits 6.
TEST_F(BusFaultTest, CounterLeavesOutCounts) {
  FailedWith("{kind: counter_jumps, at: engine_fast, by: 3, every: 20}");
  const profile::Message& fast = loaded_.bench->buses[0].messages[0];
  const auto seen = frames_.Of(0x120);
  EXPECT_EQ(bus::CounterOf(fast, seen.at(18).frame), 2u);
  EXPECT_EQ(bus::CounterOf(fast, seen.at(19).frame), 6u);
  EXPECT_EQ(bus::CounterOf(fast, seen.at(20).frame), 7u);
}

TEST_F(BusFaultTest, EveryThirdFrameIsEarlyAndTheOthersAreNot) {
  FailedWith("{kind: message_early, at: chassis, early_ms: 40, every: 3}");
  const auto seen = frames_.Of(0x210);
  const TimeNs first_ns = seen.at(0).t_ns;  // its phase
  EXPECT_EQ(seen.at(1).t_ns, first_ns + 100 * kNsPerMs);
  EXPECT_EQ(seen.at(2).t_ns, first_ns + 160 * kNsPerMs);
  EXPECT_EQ(seen.at(3).t_ns, first_ns + 300 * kNsPerMs);
}

TEST_F(BusFaultTest, ANodeThatIsGoneTakesAllItsMessagesAlong) {
  EXPECT_THAT(FailedWith("{kind: node_gone, at: display}"), ElementsAre("display_is_there"));
  for (const std::uint32_t id : {0x510u, 0x511u, 0x512u}) EXPECT_TRUE(frames_.Of(id).empty());
}

TEST_F(BusFaultTest, ABabblingNodeIsAStranger) {
  EXPECT_THAT(FailedWith("{kind: babbling_node, at: vehicle, id: 0x001, period_ms: 2}"),
              ElementsAre("no_strangers"));
  EXPECT_EQ(frames_.Of(0x001).size(), 750u);  // 1.5 s / 2 ms
}

TEST_F(BusFaultTest, ErrorFramesAreReported) {
  EXPECT_THAT(FailedWith("{kind: error_frames, at: vehicle, period_ms: 50}"),
              ElementsAre("no_errors"));
  // 1.5 s / 50 ms, less the one at 0.
  EXPECT_EQ(details_["no_errors"], "29 errors reported on bus vehicle, the first at 0.050 s");
}

// 32 failed attempts (32 * 8 > 255, ISO 11898-1), then silence until the fault ends.
TEST_F(BusFaultTest, ASenderGoesBusOffAndComesBack) {
  loaded_.scenario->faults.clear();
  Add("{kind: bus_off, at: display}");
  loaded_.scenario->faults[0].from_s = 0.4;
  loaded_.scenario->faults[0].to_s = 0.9;
  EXPECT_THAT(Failed(), ElementsAre("display_is_there", "no_errors"));
  EXPECT_THAT(details_["no_errors"], testing::StartsWith("32 errors reported"));
  bool before = false, after = false;
  for (const auto& frame : frames_.Of(0x510)) {
    EXPECT_TRUE(frame.t_ns < 400 * kNsPerMs || frame.t_ns >= 900 * kNsPerMs);
    before |= frame.t_ns < 400 * kNsPerMs;
    after |= frame.t_ns >= 900 * kNsPerMs;
  }
  EXPECT_TRUE(before && after);
}

TEST_F(BusFaultTest, AnInterfaceThatIsBusOffHearsNothing) {
  loaded_.scenario->faults.clear();
  Add("{kind: bus_off, at: vehicle}");
  loaded_.scenario->faults[0].from_s = 0.4;
  loaded_.scenario->faults[0].to_s = 0.9;
  Failed();
  for (const auto& frame : frames_.seen) {
    EXPECT_TRUE(frame.t_ns < 400 * kNsPerMs || frame.t_ns >= 900 * kNsPerMs);
  }
  EXPECT_THAT(frames_.notes, Contains(testing::StartsWith("bus vehicle (fault): ")));
}

// What is not heard in between is no failure of the display; see DEVELOPERS.md.
TEST_F(BusFaultTest, WhileTheInterfaceIsBusOffNothingIsJudged) {
  loaded_.scenario->faults.clear();
  Add("{kind: bus_off, at: vehicle}");
  loaded_.scenario->faults[0].from_s = 0.4;
  loaded_.scenario->faults[0].to_s = 0.9;
  EXPECT_THAT(Failed(), IsEmpty());
  EXPECT_THAT(frames_.lost, ElementsAre(std::pair<int, TimeNs>(0, 400)));
  EXPECT_THAT(frames_.regained, ElementsAre(std::pair<int, TimeNs>(0, 900)));
}

// 20,000 error frames of 17 bits; 1000 frames of 47 + 8 * 8 bits, extended 67 + 8 * 2 (ISO 11898-1, worked by hand).
TEST_F(BusFaultTest, WhatAFaultTakesOfItsBus) {
  const profile::Bus& bus = loaded_.bench->buses.at(0);
  const auto bits = [&](const std::string& yaml) {
    return BitsPerSecond(*profile::ParseFault(*loaded_.bench, yaml).fault, bus);
  };
  const std::string at = "at: " + bus.name;
  EXPECT_DOUBLE_EQ(bits("{kind: error_frames, " + at + ", period_ms: 0.05}"), 340'000);
  EXPECT_DOUBLE_EQ(
      bits("{kind: babbling_node, " + at + ", id: 0x1, period_ms: 1, length_bytes: 8}"), 111'000);
  EXPECT_DOUBLE_EQ(bits("{kind: bus_off, " + at + "}"), 0);
}

}  // namespace
}  // namespace drycrank::run
