// SPDX-License-Identifier: Apache-2.0
#include "tests/check/table.h"

namespace drycrank::check {
namespace {

using profile::Compare;

class ConditionsTest : public Table {
 protected:
  ConditionsTest() { AddStep("run", 10); }
  template <class Kind>
  Kind& ExpectSync(Compare compare, double value) {
    auto& e = Expect<Kind>();
    e.condition = SyncIs(compare, value);
    return e;
  }
  template <class Kind>
  void ExpectCoolant(Compare compare, double value) {
    auto& e = ExpectSync<Kind>(compare, value);
    e.condition.signal = {0, kTemps, 0};
    e.condition.text = "engine_temps.coolant below 110";
  }
};

TEST_F(ConditionsTest, AlwaysHasTheSmallestDistanceAsMargin) {
  ExpectCoolant<expect::Always>(Compare::kBelow, 110);
  Begin(0, 0);
  Coolant(S(1), 90);
  Coolant(S(2), 104);
  Coolant(S(3), 95);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_DOUBLE_EQ(verdict.margin, 6);
  EXPECT_EQ(verdict.worst_ns, S(2));
  EXPECT_EQ(verdict.detail, "at worst engine_temps.coolant was 104.0 °C");
}

TEST_F(ConditionsTest, AlwaysFailsByOneReception) {
  ExpectCoolant<expect::Always>(Compare::kBelow, 110);
  Begin(0, 0);
  Coolant(S(1), 90);
  Coolant(S(2), 118);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_DOUBLE_EQ(verdict.margin, -8);
  EXPECT_EQ(verdict.detail,
            "engine_temps.coolant was 118.0 °C, but \"engine_temps.coolant below 110\" must always "
            "hold; violated in 1 of 2 messages received");
}

TEST_F(ConditionsTest, TouchingAStrictLimitFailsWithMarginZero) {
  ExpectCoolant<expect::Always>(Compare::kBelow, 110);
  Begin(0, 0);
  Coolant(S(1), 110);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_DOUBLE_EQ(verdict.margin, 0);
}

TEST_F(ConditionsTest, NamedValuesAreToldByName) {
  ExpectSync<expect::Always>(Compare::kEqual, 3);
  Begin(0, 0);
  Sync(S(1), 3);
  Sync(S(2), 1);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_EQ(verdict.detail,
            "engine_status.sync was searching, but \"the condition\" must always hold; violated in "
            "1 of 2 messages received");
}

TEST_F(ConditionsTest, NeverIsMetWhileItStaysAway) {
  ExpectCoolant<expect::Never>(Compare::kAbove, 110);
  Begin(0, 0);
  Coolant(S(1), 100);
  Coolant(S(2), 110);  // not above
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_DOUBLE_EQ(verdict.margin, 0);
}

TEST_F(ConditionsTest, NeverFailsByOneReception) {
  ExpectCoolant<expect::Never>(Compare::kAbove, 110);
  Begin(0, 0);
  Coolant(S(1), 100);
  Coolant(S(2), 112);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_DOUBLE_EQ(verdict.margin, -2);
  EXPECT_EQ(verdict.worst_ns, S(2));
}

TEST_F(ConditionsTest, NeverOfAValueFailsWhenItIsSeen) {
  ExpectSync<expect::Never>(Compare::kEqual, 1);
  Begin(0, 0);
  Sync(S(1), 3);
  Sync(S(2), 1);
  EXPECT_EQ(Finish(S(10)).outcome, Outcome::kFailed);
}

TEST_F(ConditionsTest, SilenceIsNotObserved) {
  ExpectSync<expect::Never>(Compare::kEqual, 1);
  Begin(0, 0);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kNotObserved);
  EXPECT_EQ(verdict.detail, "engine_status.sync was not received while this was judged");
}

// Held at 2, 3 and 4 s: 2 s from message to message.
TEST_F(ConditionsTest, ForAtLeastCountsFromReceptionToReception) {
  ExpectSync<expect::ForAtLeast>(Compare::kEqual, 3).for_s = 2;
  Begin(0, 0);
  Sync(S(1), 1);
  for (int second = 2; second <= 4; ++second) Sync(S(second), 3);
  Sync(S(5), 1);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_DOUBLE_EQ(verdict.margin, 0);
  EXPECT_EQ(verdict.margin_unit, "s");
  EXPECT_EQ(verdict.worst_ns, S(4));
  EXPECT_EQ(verdict.detail, "\"the condition\" held for 2.000 s at the longest, should be 2.000 s");
}

TEST_F(ConditionsTest, OneInterruptionStartsTheTimeAgain) {
  ExpectSync<expect::ForAtLeast>(Compare::kEqual, 3).for_s = 4;
  Begin(0, 0);
  for (int second = 1; second <= 9; ++second) Sync(S(second), second == 5 ? 1 : 3);
  const Verdict& verdict = Finish(S(10));  // 1 ... 4 and 6 ... 9: 3 s each
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_DOUBLE_EQ(verdict.margin, -1);
}

TEST_F(ConditionsTest, WhatNeverHeldSaysWhatWasThere) {
  ExpectSync<expect::ForAtLeast>(Compare::kEqual, 3).for_s = 1;
  Begin(0, 0);
  Sync(S(1), 1);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_EQ(verdict.detail, "\"the condition\" never held, should be 1.000 s; last searching");
}

TEST_F(ConditionsTest, HoldingGoesOnOverNeighbouringSteps) {
  AddStep("more", 10);
  ExpectSync<expect::ForAtLeast>(Compare::kEqual, 3).for_s = 3;
  Begin(0, 0);
  Sync(S(8), 3);
  Begin(1, S(10));
  Sync(S(11), 3);
  EXPECT_DOUBLE_EQ(Finish(S(20)).margin, 0);
}

TEST_F(ConditionsTest, TimeThatIsNotJudgedInterrupts) {
  AddStep("other", 1);
  AddStep("again", 10);
  auto& e = ExpectSync<expect::ForAtLeast>(Compare::kEqual, 3);
  e.for_s = 3;
  expectation().during = {"run", "again"};
  Begin(0, 0);
  Sync(S(8), 3);
  Begin(1, S(10));
  Begin(2, S(11));
  Sync(S(12), 3);
  Sync(S(13), 3);
  EXPECT_DOUBLE_EQ(Finish(S(20)).margin, -2);  // 12 ... 13 s
}

}  // namespace
}  // namespace drycrank::check
