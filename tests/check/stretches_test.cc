// SPDX-License-Identifier: Apache-2.0
//
// What a verdict says when the bus could not be observed for a while. Each has its twin without the
// stretch, or with a shorter one, where the same frames fail.
#include "tests/check/table.h"

namespace drycrank::check {
namespace {

using profile::Compare;
using testing::HasSubstr;

class StretchTest : public Table {
 protected:
  void Lose(TimeNs t_ns) { checker_->OnUnobservable(0, t_ns, "interface down"); }
  void Regain(TimeNs t_ns) { checker_->OnObservable(0, t_ns); }
};

TEST_F(StretchTest, WhatIsSeenInItIsNotJudged) {
  AddStep("all", 10);
  Expect<expect::Never>().condition = SyncIs(Compare::kEqual, 1);
  Begin(0, 0);
  Sync(S(1), 3);
  Lose(S(2));
  Sync(S(3), 1);
  Regain(S(4));
  Sync(S(5), 3);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_EQ(verdict.judged, 2u);
  ASSERT_EQ(verdict.stretches.size(), 1u);
  EXPECT_THAT(verdict.detail,
              HasSubstr("; not observable from 2.000 s to 4.000 s (bus vehicle: interface down)"));
}

// No fault of anyone's: a step of 10 s says nothing of what settles for 20.
TEST_F(StretchTest, AStepThatIsTooShortToSettleIsNeverJudged) {
  AddStep("all", 10);
  Expect<expect::Never>().condition = SyncIs(Compare::kEqual, 1);
  expectation().settle_s = 20;
  Begin(0, 0);
  Sync(S(9), 1);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kNotObservable);
  EXPECT_THAT(verdict.detail,
              HasSubstr("never judged: its steps ended before it had settled, 20 s"));
}

TEST_F(StretchTest, OutsideOfItAFailureFails) {
  AddStep("all", 10);
  Expect<expect::Never>().condition = SyncIs(Compare::kEqual, 1);
  Begin(0, 0);
  Lose(S(2));
  Regain(S(4));
  Sync(S(5), 1);
  EXPECT_EQ(Finish(S(10)).outcome, Outcome::kFailed);
}

TEST_F(StretchTest, NothingButItIsNotObservable) {
  AddStep("all", 10);
  Expect<expect::Always>().condition = SyncIs(Compare::kEqual, 3);
  Begin(0, 0);
  Lose(S(0));
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kNotObservable);
  EXPECT_FALSE(checker_->AllMet());
  EXPECT_THAT(verdict.detail, HasSubstr("not observable from 0.000 s to 10.000 s"));
}

// engine_status comes each 10 ms: silence of seconds is the sender's, not ours.
TEST_F(StretchTest, SilenceLongEnoughBesideItIsNotSeen) {
  AddStep("all", 10);
  Expect<expect::Always>().condition = SyncIs(Compare::kEqual, 3);
  Begin(0, 0);
  Lose(S(9));
  Regain(S(9.1));
  EXPECT_EQ(Finish(S(10)).outcome, Outcome::kNotObserved);
}

TEST_F(StretchTest, AfterItSettlingBeginsAnew) {
  AddStep("all", 10);
  auto& e = Expect<expect::Always>();
  e.condition = SyncIs(Compare::kEqual, 3);
  expectation().settle_s = 1;
  Begin(0, 0);
  Sync(S(2), 3);
  Lose(S(3));
  Regain(S(4));
  Sync(S(4.9), 1);  // settles until 5
  Sync(S(5.1), 3);
  EXPECT_EQ(Finish(S(10)).outcome, Outcome::kMet);
}

TEST_F(StretchTest, AnotherBusDoesNotMatter) {
  bench_.buses.resize(2);
  AddStep("all", 10);
  Expect<expect::Always>().condition = SyncIs(Compare::kEqual, 3);
  Begin(0, 0);
  checker_->OnUnobservable(1, S(1), "bus off");
  Sync(S(2), 3);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_EQ(verdict.stretch_count, 0u);
}

class WithinStretchTest : public StretchTest {
 protected:
  WithinStretchTest() {
    AddStep("all", 10);
    auto& e = Expect<expect::Within>();
    e.condition = SyncIs(Compare::kEqual, 3);
    e.within_s = 4;
  }
};

TEST_F(WithinStretchTest, TimeUpUnseenIsNotObservable) {
  Begin(0, 0);
  Sync(S(1), 1);
  Lose(S(2));
  Regain(S(5));
  Sync(S(6), 3);  // it may have come true at 3 s, in time
  EXPECT_EQ(Finish(S(10)).outcome, Outcome::kNotObservable);
}

TEST_F(WithinStretchTest, TimeUpBeforeItFails) {
  Begin(0, 0);
  Sync(S(1), 1);
  Lose(S(5));
  Regain(S(6));
  Sync(S(7), 3);
  EXPECT_EQ(Finish(S(10)).outcome, Outcome::kFailed);
}

TEST_F(WithinStretchTest, TrueInTimeAfterItIsMet) {
  Begin(0, 0);
  Lose(S(1));
  Regain(S(2));
  Sync(S(3), 3);
  EXPECT_EQ(Finish(S(10)).outcome, Outcome::kMet);
}

TEST_F(WithinStretchTest, LostToTheEndIsNotObservable) {
  Begin(0, 0);
  Sync(S(1), 1);
  Lose(S(2));
  EXPECT_EQ(Finish(S(10)).outcome, Outcome::kNotObservable);
}

TEST_F(StretchTest, HoldThatMayHaveBeenLongEnoughIsNotObservable) {
  AddStep("all", 10);
  auto& e = Expect<expect::ForAtLeast>();
  e.condition = SyncIs(Compare::kEqual, 3);
  e.for_s = 3;
  Begin(0, 0);
  for (const double t : {1.0, 2.0}) Sync(S(t), 3);
  Lose(S(2.5));
  Regain(S(3.5));
  Sync(S(4.5), 3);  // 1 to 4.5 s, if it held unseen
  Sync(S(4.6), 1);
  EXPECT_EQ(Finish(S(10)).outcome, Outcome::kNotObservable);
}

TEST_F(StretchTest, HoldTooShortEvenWithItFails) {
  AddStep("all", 10);
  auto& e = Expect<expect::ForAtLeast>();
  e.condition = SyncIs(Compare::kEqual, 3);
  e.for_s = 5;
  Begin(0, 0);
  for (const double t : {1.0, 2.0}) Sync(S(t), 3);
  Lose(S(2.5));
  Regain(S(3.5));
  Sync(S(4.5), 3);
  Sync(S(4.6), 1);
  EXPECT_EQ(Finish(S(10)).outcome, Outcome::kFailed);
}

TEST_F(StretchTest, GapOfAMessageAcrossItIsNotAGap) {
  AddStep("all", 1);
  auto& e = Expect<expect::MessagePresent>();
  e.period_ms = 100;
  e.jitter_ms = 10;
  Begin(0, 0);
  for (int i = 1; i <= 3; ++i) Sync(Ms(100 * i), 3);
  Lose(Ms(350));
  Regain(Ms(750));
  for (int i = 8; i <= 10; ++i) Sync(Ms(100 * i), 3);
  EXPECT_EQ(Finish(S(1)).outcome, Outcome::kMet);
}

// The twin: the same frames, nothing said.
TEST_F(StretchTest, GapOfAMessageFailsWithoutIt) {
  AddStep("all", 1);
  auto& e = Expect<expect::MessagePresent>();
  e.period_ms = 100;
  e.jitter_ms = 10;
  Begin(0, 0);
  for (const int i : {1, 2, 3, 8, 9, 10}) Sync(Ms(100 * i), 3);
  EXPECT_EQ(Finish(S(1)).outcome, Outcome::kFailed);
}

TEST_F(StretchTest, CounterStartsAnewAfterLostFrames) {
  AddStep("all", 1);
  Expect<expect::Counter>();
  Begin(0, 0);
  const auto count = [&](int ms, int value) {
    Receive(Ms(ms), kStatus, {0, 0, 0, 0, 0, 0, value});
  };
  count(10, 1);
  count(20, 2);
  Lose(Ms(30));  // no length: frames were lost at that instant
  Regain(Ms(30));
  count(40, 7);
  count(50, 8);
  const Verdict& verdict = Finish(S(1));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_EQ(verdict.judged, 2u);
  EXPECT_THAT(verdict.detail, HasSubstr("not observable at 0.030 s"));
}

TEST_F(StretchTest, ManyAreCountedAndTheFirstAreTold) {
  AddStep("all", 1000);
  Expect<expect::Always>().condition = SyncIs(Compare::kEqual, 3);
  Begin(0, 0);
  for (int i = 1; i <= 100; ++i) {
    Lose(S(i));
    Regain(S(i + 0.5));
  }
  Sync(S(500), 3);
  const Verdict& verdict = Finish(S(1000));
  EXPECT_EQ(verdict.stretches.size(), kMaxStretches);
  EXPECT_EQ(verdict.stretch_count, 100u);
  EXPECT_THAT(verdict.detail, HasSubstr("and 92 more times"));
}

}  // namespace
}  // namespace drycrank::check
