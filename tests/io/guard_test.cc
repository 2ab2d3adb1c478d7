// SPDX-License-Identifier: Apache-2.0
//
// The owner's side. What happens when the owner is killed is in tests/e2e/guard_test.py.
#include "io/guard.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <poll.h>
#include <signal.h>

#include <fstream>
#include <iterator>
#include <memory>
#include <string>

#include "tests/support/scratch_folder.h"

namespace drycrank::io {
namespace {

using std::chrono::milliseconds;

const std::string kProgram = DRYCRANK_BINARY_DIR "/tools/drycrank-guard";
constexpr milliseconds kAtLeisure{60'000};  // no test waits for it

class GuardTest : public testing::Test {
 protected:
  GuardTest() {
    std::ofstream(dac_) << "2048";
    Guard::Started started = Guard::Start(kProgram, kAtLeisure);
    EXPECT_EQ(started.error, "");
    guard_ = std::move(started.guard);
  }

  void Hold() { EXPECT_EQ(guard_->Hold(output::SafeText{dac_, "0"}), ""); }
  std::string Dac() const {
    std::ifstream file(dac_);
    return {std::istreambuf_iterator<char>(file), {}};
  }

  ScratchFolder folder_;
  std::string dac_ = folder_.Path("out_voltage0_raw");
  std::unique_ptr<Guard> guard_;
};

TEST_F(GuardTest, WhatIsNotDisarmedIsMadeSafeAtTheEnd) {
  Hold();
  EXPECT_EQ(guard_->Arm(), "");
  EXPECT_TRUE(guard_->Beat());
  EXPECT_EQ(Dac(), "2048");
  guard_.reset();
  EXPECT_EQ(Dac(), "0");
}

TEST_F(GuardTest, DisarmedItLeavesTheOutputsAlone) {
  Hold();
  EXPECT_EQ(guard_->Arm(), "");
  EXPECT_EQ(guard_->Disarm(), "");
  guard_.reset();
  EXPECT_EQ(Dac(), "2048");
}

TEST_F(GuardTest, MadeSafeOnRequestTheAnswerComesAfterIt) {
  Hold();
  EXPECT_EQ(guard_->Arm(), "");
  EXPECT_EQ(guard_->Safe(), "");
  EXPECT_EQ(Dac(), "0");
  EXPECT_THAT(guard_->Arm(), testing::StartsWith("the guard is gone"));
}

TEST_F(GuardTest, ASecondThreadNeedsNoAnswer) {
  Hold();
  EXPECT_EQ(guard_->Arm(), "");
  EXPECT_TRUE(guard_->BeSafe());
  for (int tried = 0; tried < 5000 && Dac() != "0"; ++tried) poll(nullptr, 0, 1);
  EXPECT_EQ(Dac(), "0");
}

TEST_F(GuardTest, WhatItCannotHoldItSays) {
  EXPECT_EQ(guard_->Hold(output::SafeText{folder_.Path("none"), "0"}),
            folder_.Path("none") + ": No such file or directory");
}

TEST(Guard, AProgramThatIsNotThereIsSaid) {
  const Guard::Started started = Guard::Start("/nowhere/drycrank-guard");
  EXPECT_EQ(started.guard, nullptr);
  EXPECT_EQ(started.error,
            "/nowhere/drycrank-guard: No such file or directory; without it no output is driven");
}

TEST(Guard, OneThatIsGoneTakesNoBeat) {
  Guard::Started started = Guard::Start("/bin/true", kAtLeisure);
  ASSERT_EQ(started.error, "");
  EXPECT_NE(started.guard->Arm(), "");
  EXPECT_FALSE(started.guard->Beat());
}

}  // namespace
}  // namespace drycrank::io
