// SPDX-License-Identifier: Apache-2.0
#include "proofread/recording_problems.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>

#include "tests/run/loaded.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::proofread {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;

class RecordingProblemsTest : public testing::Test {
 protected:
  void Play(const std::string& text) {
    std::ofstream(path_, std::ios::binary) << text;
    profile::Replay replay;
    replay.file = path_;
    loaded_.scenario->replays.push_back(replay);
  }
  Diagnostics Problems() { return RecordingProblems(*loaded_.bench, *loaded_.scenario); }

  profile::LoadedScenario loaded_ = run::Shipped("hill_climb/healthy");
  ScratchFolder folder_;
  std::string path_ = folder_.Path("drive.log");
};

TEST_F(RecordingProblemsTest, NoneWithoutARecordingAndNoneOfAGoodOne) {
  EXPECT_THAT(Problems(), IsEmpty());
  Play("(1700000000.000000) vehicle 210#01000000\n");
  EXPECT_THAT(Problems(), IsEmpty());
}

TEST_F(RecordingProblemsTest, EachRecordingHasItsOwn) {
  Play("(1700000000.000000) a 210#01\n(1700000000.000000) b 210#01\n");
  Play("kind: bench\n");
  loaded_.scenario->replays[0].file = folder_.Path("nowhere.log");
  const Diagnostics problems = Problems();
  ASSERT_EQ(problems.size(), 2u);
  EXPECT_THAT(problems[0].what, HasSubstr("nowhere.log' cannot be read"));
  EXPECT_THAT(problems[1].what, HasSubstr("it is not a candump log"));
}

}  // namespace
}  // namespace drycrank::proofread
