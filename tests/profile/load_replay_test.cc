// SPDX-License-Identifier: Apache-2.0
#include <gmock/gmock.h>

#include "tests/profile/scratch.h"

namespace drycrank::profile {
namespace {

using testing::ElementsAre;

class LoadReplayKey : public Scratch {
 protected:
  // tests/bad_profiles/base/plain.yaml with this entry under `replay`.
  Replay Load(const std::string& entry) {
    Write("drive.log", "(0.000000) car 140#00\n");
    const LoadedScenario loaded = LoadScenario(Write(
        "s.yaml", "include: " DRYCRANK_TESTS_DIR "/bad_profiles/base/plain.yaml\nreplay:\n  - {" +
                      entry + "}\n"));
    EXPECT_EQ(Text(loaded.problems), "");
    return loaded.scenario ? loaded.scenario->replays.at(0) : Replay();
  }
};

TEST_F(LoadReplayKey, TimesIdentifiersAndValues) {
  const Replay replay = Load(
      "file: drive.log, bus: car, interface: can1, speed: 2, begin_s: 500 ms, from_s: 1, to_s: 4,"
      "loop: true, pause_s: 20 ms, only: [temps, 0x141, 0x18FEEE00], without: [0x141],"
      "override: {temps: {coolant: coolant_temperature}}");
  EXPECT_TRUE(replay.file.ends_with("drive.log"));
  EXPECT_EQ(replay.interface, "can1");
  EXPECT_DOUBLE_EQ(replay.speed, 2);
  EXPECT_DOUBLE_EQ(replay.begin_s, 0.5);
  EXPECT_EQ(replay.to_s, 4);
  EXPECT_TRUE(replay.loop);
  EXPECT_DOUBLE_EQ(replay.pause_s, 0.02);
  EXPECT_THAT(replay.only,
              ElementsAre(FrameId{0x140, false}, FrameId{0x141, false}, FrameId{0x18FEEE00, true}));
  ASSERT_EQ(replay.overrides.size(), 1u);
  ASSERT_EQ(replay.overrides[0].values.size(), 1u);
  EXPECT_EQ(replay.overrides[0].values[0].signal, 0);
  EXPECT_EQ(replay.overrides[0].values[0].stimulus, 1);
}

TEST_F(LoadReplayKey, AMessageWithoutSignalsTakesAllThatCarryAStimulus) {
  const Replay replay = Load("file: drive.log, override: {boost: {}}");
  ASSERT_EQ(replay.overrides.size(), 1u);
  ASSERT_EQ(replay.overrides[0].values.size(), 1u);
  EXPECT_EQ(replay.overrides[0].values[0].stimulus, 2);  // boost_pressure
}

TEST_F(LoadReplayKey, WhichFramesArePlayed) {
  const Replay whole = Load("file: drive.log");
  EXPECT_TRUE(Plays(whole, {0x140, false}, Sender::kController));
  EXPECT_TRUE(Plays(whole, {0x141, false}, Sender::kSimulator));
  EXPECT_FALSE(Plays(whole, {0x510, false}, Sender::kDisplay));
  EXPECT_TRUE(Plays(whole, {0x7FF, false}, std::nullopt));  // not of the bench
  const Replay part = Load("file: drive.log, only: [0x140, 0x141], without: [boost]");
  EXPECT_TRUE(Plays(part, {0x140, false}, Sender::kController));
  EXPECT_FALSE(Plays(part, {0x140, true}, std::nullopt));  // 29 bits: another identifier
  EXPECT_FALSE(Plays(part, {0x141, false}, Sender::kSimulator));
  EXPECT_FALSE(Plays(part, {0x7FF, false}, std::nullopt));
}

}  // namespace
}  // namespace drycrank::profile
