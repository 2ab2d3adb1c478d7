// SPDX-License-Identifier: Apache-2.0
//
// engine_status comes each 10 ms: three periods are less than a quarter of a second, so that this is
// its patience, and 15 ms of a stretch without any.
#include "tests/check/table.h"

namespace drycrank::check {
namespace {

using profile::Compare;
using ::testing::HasSubstr;

class SilenceTest : public Table {
 protected:
  SilenceTest() {
    silence_ = Silence::kMeetsNothing;
    AddStep("first", 2);
    AddStep("second", 2);
    Expect<expect::Always>().condition = SyncIs(Compare::kEqual, 3);
    expectation().settle_s = 1.7;
  }
  void Talk(double from_s, double to_s) {
    for (double t_s = from_s; t_s < to_s; t_s += 0.01) Sync(S(t_s), 3);
  }
  const Verdict& Play(double silent_from_s, double silent_to_s) {
    Begin(0, 0);
    Talk(0.005, std::min(2.0, silent_from_s));
    if (silent_to_s < 2) Talk(silent_to_s, 2);
    Begin(1, S(2));
    if (silent_from_s > 2) Talk(2.005, silent_from_s);
    Talk(std::max(2.005, silent_to_s), 4);
    return Finish(S(4));
  }
};

TEST_F(SilenceTest, ReportsAllTheTimeAreMet) { EXPECT_EQ(Play(9, 0).outcome, Outcome::kMet); }

TEST_F(SilenceTest, BeforeItIsJudgedItDoesNotMatter) {
  EXPECT_EQ(Play(0.5, 1.5).outcome, Outcome::kMet);
}

// The judged stretch of the second step, 3.7 s to 4 s, has not one message.
TEST_F(SilenceTest, AStretchWithoutAMessageIsNotObserved) {
  const Verdict& verdict = Play(3.6, 4);
  EXPECT_EQ(verdict.outcome, Outcome::kNotObserved);
  EXPECT_THAT(verdict.detail, HasSubstr("nothing was received from 3.700 s to 4.000 s"));
  EXPECT_EQ(verdict.worst_ns, S(3.7));
}

TEST_F(SilenceTest, AGapWithinAStretchIsNotObserved) {
  expectation().settle_s = 0.1;
  EXPECT_EQ(Play(2.5, 2.78).outcome, Outcome::kNotObserved);
}

TEST_F(SilenceTest, AGapWithinItsPatienceIsPassedOver) {
  expectation().settle_s = 0.1;
  EXPECT_EQ(Play(2.5, 2.72).outcome, Outcome::kMet);
}

// What failed has failed.
TEST_F(SilenceTest, AFailureStaysAFailure) {
  Begin(0, 0);
  Talk(0.005, 2);
  Sync(S(1.95), 1);
  Begin(1, S(2));
  EXPECT_EQ(Finish(S(4)).outcome, Outcome::kFailed);
}

}  // namespace
}  // namespace drycrank::check
