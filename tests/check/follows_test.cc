// SPDX-License-Identifier: Apache-2.0
#include "tests/check/table.h"

namespace drycrank::check {
namespace {

using ::testing::HasSubstr;

class FollowsTest : public Table {
 protected:
  expect::Follows& CoolantFollows(double tolerance) {
    auto& e = Expect<expect::Follows>();
    e.signal = {0, kTemps, 0};
    e.target.stimulus = kCoolant;
    e.target.tolerance = tolerance;
    return e;
  }
  expect::Follows& BoostFollows(double tolerance_psi) {
    expect::Follows& e = CoolantFollows(tolerance_psi);
    e.signal = {0, kTemps, 1};
    e.target.stimulus = kBoost;
    return e;
  }
};

// |91 - 90| of 2 allowed leaves 1 degC.
TEST_F(FollowsTest, MarginIsToleranceLessDeviation) {
  AddStep("warm", 10).drives = {Hold(kCoolant, 90)};
  CoolantFollows(2);
  Begin(0, 0);
  Coolant(S(1), 90);
  Coolant(S(2), 91);
  Coolant(S(3), 90);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_DOUBLE_EQ(verdict.margin, 1);
  EXPECT_EQ(verdict.margin_unit, "degC");
  EXPECT_EQ(verdict.worst_ns, S(2));
  EXPECT_EQ(verdict.judged, 3u);
  EXPECT_EQ(verdict.evidence.quantity, "engine_temps.coolant");
  ASSERT_EQ(verdict.evidence.points.size(), 3u);
  EXPECT_DOUBLE_EQ(verdict.evidence.points[1].reported, 91);
  EXPECT_DOUBLE_EQ(verdict.evidence.points[1].wanted, 90);
  EXPECT_DOUBLE_EQ(verdict.evidence.points[1].tolerance, 2);
}

TEST_F(FollowsTest, FailureSaysWhatWasReportedAndWhatWasDue) {
  AddStep("warm", 10).drives = {Hold(kCoolant, 90)};
  CoolantFollows(2);
  Begin(0, 0);
  Coolant(S(1), 90);
  Coolant(S(2), 141);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_DOUBLE_EQ(verdict.margin, -49);  // 2 - 51
  EXPECT_EQ(verdict.detail,
            "reported 141.0 °C, should be 90.0 °C ± 2.0 °C; 1 of 2 messages received outside the "
            "tolerance");
}

TEST_F(FollowsTest, WhatIsNeverReceivedIsNotObserved) {
  AddStep("warm", 10);
  CoolantFollows(2);
  Begin(0, 0);
  Sync(S(1), 3);  // another message
  EXPECT_EQ(Finish(S(10)).outcome, Outcome::kNotObserved);
  EXPECT_FALSE(checker_->AllMet());
}

TEST_F(FollowsTest, SettlingTimeIsNotJudged) {
  AddStep("warm", 10).drives = {Hold(kCoolant, 90)};
  CoolantFollows(2);
  expectation().settle_s = 1;
  Begin(0, 0);
  Coolant(S(0.5), 20);
  Coolant(S(1), 20);  // "later than": not judged yet
  Coolant(S(1.1), 90);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_EQ(verdict.judged, 1u);
}

TEST_F(FollowsTest, OnlyTheNamedStepsAreJudged) {
  AddStep("cold", 1);
  AddStep("warm", 1).drives = {Hold(kCoolant, 90)};
  AddStep("after", 1);
  CoolantFollows(2);
  expectation().during = {"warm"};
  Begin(0, 0);
  Coolant(S(0.5), 120);
  Begin(1, S(1));
  Coolant(S(1.5), 90);
  Begin(2, S(2));
  Coolant(S(2.5), 120);
  const Verdict& verdict = Finish(S(3));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_EQ(verdict.judged, 1u);
}

// 100 K in 10 s is 10 K/s. Period 100 ms: age 2 * 100 + 20 = 220 ms, in which the stimulus moves by
// 2.2 K. At 6 s it is 80 degC and was 77.8: 77 is 0.8 low, of 1 allowed.
TEST_F(FollowsTest, RampIsJudgedAgainstTheBandOfItsAge) {
  AddStep("warm up", 10).drives = {Ramp(kCoolant, 120, 10)};
  CoolantFollows(1);
  Begin(0, 0);
  Coolant(S(6), 77);
  const Verdict& verdict = Finish(S(6.5));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_NEAR(verdict.margin, 0.2, 1e-9);
  EXPECT_NEAR(verdict.evidence.points[0].wanted, 78.9, 1e-9);    // middle of 77.8 ... 80
  EXPECT_NEAR(verdict.evidence.points[0].tolerance, 2.1, 1e-9);  // 1 + 1.1
}

// The middle of that band leaves all of what is allowed there, 2.1 K, and not 210 % of 1 K.
TEST_F(FollowsTest, TheMarginIsAShareOfTheBandOfItsMoment) {
  AddStep("warm up", 10).drives = {Ramp(kCoolant, 120, 10)};
  CoolantFollows(1);
  Begin(0, 0);
  Coolant(S(6), 79);
  const Verdict& verdict = Finish(S(6.5));
  EXPECT_NEAR(verdict.allowed, 2.1, 1e-9);
  EXPECT_NEAR(verdict.margin, 2.0, 1e-9);  // 2.1 - |79 - 78.9|
}

TEST_F(FollowsTest, RampReportedTooLateFails) {
  AddStep("warm up", 10).drives = {Ramp(kCoolant, 120, 10)};
  CoolantFollows(1);
  Begin(0, 0);
  Coolant(S(6), 76);  // 1.8 below 77.8
  const Verdict& verdict = Finish(S(6.5));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_NEAR(verdict.margin, -0.8, 1e-9);
  // 1 of the expectation and 1.1 of the age: the two are told apart.
  EXPECT_EQ(verdict.detail,
            "reported 76.0 °C, should be 78.9 °C ± 2.1 °C (1.0 °C tolerance + 1.1 °C for changes "
            "while the "
            "message was under way); 1 of 1 messages received outside the tolerance");
}

TEST_F(FollowsTest, RampReportedAheadFails) {
  AddStep("warm up", 10).drives = {Ramp(kCoolant, 120, 10)};
  CoolantFollows(1);
  Begin(0, 0);
  Coolant(S(6), 82);  // no age explains a value to come
  EXPECT_NEAR(Finish(S(6.5)).margin, -1, 1e-9);
}

// The age allowance is gone 220 ms after the ramp's end.
TEST_F(FollowsTest, AgeHidesNoConstantError) {
  AddStep("warm up", 20).drives = {Ramp(kCoolant, 120, 10)};
  CoolantFollows(1);
  Begin(0, 0);
  Coolant(S(10.1), 118);  // was 118.8 ... 120: 0.8 low
  Coolant(S(10.3), 118);  // 120: 2 low
  const Verdict& verdict = Finish(S(20));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_NEAR(verdict.margin, -1, 1e-9);
  EXPECT_EQ(verdict.worst_ns, S(10.3));
}

// A jump at 1 s: a report at 1.2 s may be from before, one at 1.3 s may not.
TEST_F(FollowsTest, AgeReachesBackIntoTheDriveBefore) {
  AddStep("cold", 1);
  AddStep("warm", 1).drives = {Hold(kCoolant, 90)};
  CoolantFollows(1);
  Begin(0, 0);
  Begin(1, S(1));
  Coolant(S(1.2), 20);
  EXPECT_EQ(Finish(S(1.25)).outcome, Outcome::kMet);
}
TEST_F(FollowsTest, AgeDoesNotReachBackFurther) {
  AddStep("cold", 1);
  AddStep("warm", 1).drives = {Hold(kCoolant, 90)};
  CoolantFollows(1);
  Begin(0, 0);
  Begin(1, S(1));
  Coolant(S(1.3), 20);
  EXPECT_DOUBLE_EQ(Finish(S(1.5)).margin, -69);
}

TEST_F(FollowsTest, ValueGivenByHandIsFollowed) {
  AddStep("warm", 10).drives = {Hold(kCoolant, 90)};
  CoolantFollows(1);
  Begin(0, 0);
  Coolant(S(1), 90);
  timeline_->Override(kCoolant, 60, 0, S(2));
  Coolant(S(2.1), 90);  // from before
  Coolant(S(3), 60);
  EXPECT_EQ(Finish(S(4)).outcome, Outcome::kMet);
}

// 25 psi = 25 * 6.894757 kPa = 172.369 kPa above the barometer's 101.325: 273.694 kPa (factor: NIST
// SP 811 (2008) App. B, in tests/reference/units.csv). Tolerance 0.1 psi = 0.6895 kPa. Reported
// 273.7.
TEST_F(FollowsTest, GaugeStimulusIsJudgedAbsolute) {
  AddStep("boost", 1).drives = {Hold(kBoost, 25)};
  BoostFollows(0.1).target.absolute = true;
  Begin(0, 0);
  BoostKpa(S(0.5), 2737);
  const Verdict& verdict = Finish(S(1));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_NEAR(verdict.evidence.points[0].wanted, 273.694, 5e-4);
  EXPECT_NEAR(verdict.margin, 0.6895 - 0.0061, 1e-4);
  EXPECT_EQ(verdict.margin_unit, "kPa");
}

TEST_F(FollowsTest, ForgottenBarometerIsSeen) {
  AddStep("boost", 1).drives = {Hold(kBoost, 25)};
  BoostFollows(0.1).target.absolute = true;
  Begin(0, 0);
  BoostKpa(S(0.5), 1724);
  const Verdict& verdict = Finish(S(1));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_NEAR(verdict.margin, 0.6895 - 101.294, 1e-3);
}

TEST_F(FollowsTest, SignalWithoutUnitIsInTheStimulusUnit) {
  AddStep("tank", 1).drives = {Hold(kFuel, 50)};
  expect::Follows& e = CoolantFollows(2);
  e.signal = {0, kTemps, 2};
  e.target.stimulus = kFuel;
  Begin(0, 0);
  Receive(S(0.5), kTemps, {0, 0, 0, 51});
  const Verdict& verdict = Finish(S(1));
  EXPECT_DOUBLE_EQ(verdict.margin, 1);
  EXPECT_EQ(verdict.margin_unit, "%");
}

TEST_F(FollowsTest, UnitsOfTwoDimensionsAreNotObserved) {
  AddStep("tank", 1);
  CoolantFollows(2).target.stimulus = kBoost;
  Begin(0, 0);
  Coolant(S(0.5), 0);
  const Verdict& verdict = Finish(S(1));
  EXPECT_EQ(verdict.outcome, Outcome::kNotObserved);
  EXPECT_THAT(verdict.detail, HasSubstr("cannot be converted"));
}

TEST_F(FollowsTest, FixedValueIsWantedWhateverTheStimulusDoes) {
  AddStep("open circuit", 1).drives = {Hold(kCoolant, 90)};
  expect::Follows& e = CoolantFollows(1);
  e.target.stimulus = -1;
  e.target.value = -40;
  Begin(0, 0);
  Coolant(S(0.5), -40);
  EXPECT_DOUBLE_EQ(Finish(S(1)).margin, 1);
}

TEST_F(FollowsTest, ToleranceItselfIsStillMet) {
  AddStep("warm", 1).drives = {Hold(kCoolant, 90)};
  CoolantFollows(1);
  Begin(0, 0);
  Coolant(S(0.5), 91);
  const Verdict& verdict = Finish(S(1));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_DOUBLE_EQ(verdict.margin, 0);
}

}  // namespace
}  // namespace drycrank::check
