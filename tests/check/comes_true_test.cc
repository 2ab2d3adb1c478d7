// SPDX-License-Identifier: Apache-2.0
#include "tests/check/table.h"

namespace drycrank::check {
namespace {

using profile::Compare;

class WithinTest : public Table {
 protected:
  WithinTest() {
    AddStep("wait", 1);
    AddStep("start", 5);
    auto& e = Expect<expect::Within>();
    e.condition = SyncIs(Compare::kEqual, 3);
    e.within_s = 2;
    expectation().during = {"start"};
  }
};

TEST_F(WithinTest, MarginIsWhatIsLeftOfTheTime) {
  Begin(0, 0);
  Sync(S(0.5), 3);  // before its time
  Begin(1, S(1));
  Sync(S(1.5), 1);
  Sync(S(2.2), 3);
  Sync(S(4), 1);  // and may go again
  const Verdict& verdict = Finish(S(6));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_NEAR(verdict.margin, 0.8, 1e-12);
  EXPECT_EQ(verdict.margin_unit, "s");
  EXPECT_EQ(verdict.worst_ns, S(2.2));
  EXPECT_EQ(verdict.judged, 2u);
  EXPECT_EQ(verdict.detail, "\"the condition\" happened after 1.200 s, 2.000 allowed");
}

TEST_F(WithinTest, TooLateFails) {
  Begin(0, 0);
  Begin(1, S(1));
  Sync(S(2), 1);
  Sync(S(3.5), 3);
  const Verdict& verdict = Finish(S(6));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_NEAR(verdict.margin, -0.5, 1e-12);
}

TEST_F(WithinTest, NeverTrueFailsWithAllTheTimeThatPassed) {
  Begin(0, 0);
  Begin(1, S(1));
  Sync(S(2), 1);
  const Verdict& verdict = Finish(S(6));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_NEAR(verdict.margin, -3, 1e-12);  // 2 - 5
  EXPECT_EQ(verdict.worst_ns, S(6));
  EXPECT_EQ(verdict.detail,
            "\"the condition\" did not happen in 5.000 s, 2.000 allowed; last searching");
}

TEST_F(WithinTest, RunThatEndsBeforeTheLimitHasNotMetIt) {
  Begin(0, 0);
  Begin(1, S(1));
  Sync(S(1.5), 1);
  const Verdict& verdict = Finish(S(2));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_DOUBLE_EQ(verdict.margin, 0);
}

TEST_F(WithinTest, SilenceIsNotObserved) {
  Begin(0, 0);
  Begin(1, S(1));
  EXPECT_EQ(Finish(S(6)).outcome, Outcome::kNotObserved);
}

TEST_F(WithinTest, EachStretchMustMakeIt) {
  AddStep("stop", 1);
  AddStep("restart", 5);
  scenario_.expectations[0].during = {"start", "restart"};
  Begin(0, 0);
  Begin(1, S(1));
  Sync(S(1.5), 3);
  Begin(2, S(6));
  Begin(3, S(7));
  Sync(S(9.5), 3);  // 2.5 s after its begin
  const Verdict& verdict = Finish(S(12));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_NEAR(verdict.margin, -0.5, 1e-12);
}

// 240 r/min are 4 turns a second.
class SynchronisedTest : public Table {
 protected:
  SynchronisedTest() {
    profile::Drive crank = Hold(kSpeed, 240);
    crank.kind = profile::DriveKind::kCrank;
    AddStep("key on", 1);
    AddStep("crank", 5).drives = {crank};
    auto& e = Expect<expect::Synchronised>();
    e.condition = SyncIs(Compare::kEqual, 3);
    e.turns = 3;
  }
};

TEST_F(SynchronisedTest, TurnsAreCountedFromTheFirstOne) {
  Begin(0, 0);
  Sync(S(0.5), 0);
  Begin(1, S(1));
  Sync(S(1.25), 1);  // 1 turn
  Sync(S(1.5), 3);   // 2 turns
  const Verdict& verdict = Finish(S(6));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_NEAR(verdict.margin, 1, 1e-12);
  EXPECT_EQ(verdict.margin_unit, "turns");
  EXPECT_EQ(verdict.worst_ns, S(1.5));
  EXPECT_EQ(verdict.detail,
            "\"the condition\" happened after 2.00 turns of the crank, 3.00 allowed");
}

TEST_F(SynchronisedTest, TooManyTurnsFail) {
  Begin(0, 0);
  Begin(1, S(1));
  Sync(S(1.25), 1);
  Sync(S(2.25), 3);  // 5 turns
  const Verdict& verdict = Finish(S(6));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_NEAR(verdict.margin, -2, 1e-12);
}

TEST_F(SynchronisedTest, NeverSynchronisedCountsAllTurns) {
  Begin(0, 0);
  Begin(1, S(1));
  Sync(S(1.25), 1);
  const Verdict& verdict = Finish(S(6));  // 20 turns
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_NEAR(verdict.margin, -17, 1e-12);
  EXPECT_EQ(verdict.detail,
            "\"the condition\" did not happen in 20.00 turns of the crank, 3.00 allowed; last "
            "searching");
}

// From 0 to 240 r/min in 2 s: after x s, 60 x^2 r/min s, that is x^2 turns. 2 turns take 1.414 s.
TEST_F(SynchronisedTest, TurnsOfARampAreItsArea) {
  scenario_.steps[1].drives = {Ramp(kSpeed, 240, 2)};
  Begin(0, 0);
  Begin(1, S(1));
  Sync(S(2.414213562), 3);
  EXPECT_NEAR(Finish(S(6)).margin, 1, 1e-8);
}

TEST_F(SynchronisedTest, WhatIsReportedBeforeTheFirstTurnDoesNotCount) {
  Begin(0, 0);
  Sync(S(0.5), 3);  // left over from an earlier run
  Begin(1, S(1));
  Sync(S(1.25), 1);
  EXPECT_EQ(Finish(S(6)).outcome, Outcome::kFailed);
}

TEST_F(SynchronisedTest, StandingCrankIsNotObserved) {
  Begin(0, 0);
  Sync(S(0.5), 3);
  const Verdict& verdict = Finish(S(1));
  EXPECT_EQ(verdict.outcome, Outcome::kNotObserved);
  EXPECT_EQ(verdict.detail, "the crank did not turn while this was judged");
}

}  // namespace
}  // namespace drycrank::check
