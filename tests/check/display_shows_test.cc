// SPDX-License-Identifier: Apache-2.0
#include "tests/check/table.h"

namespace drycrank::check {
namespace {

using ::testing::HasSubstr;

class DisplayShowsTest : public Table {
 protected:
  DisplayShowsTest() {
    AddStep("warm", 10).drives = {Hold(kCoolant, 90), Hold(kBoost, 25)};
    Expect<expect::DisplayShows>().gauge = 0;
  }
  expect::DisplayShows& shows() {
    return std::get<expect::DisplayShows>(scenario_.expectations[0].kind);
  }
  void ExpectCoolant(double tolerance) {
    shows().target.stimulus = kCoolant;
    shows().target.tolerance = tolerance;
  }
};

// No decimals shown: half a degree on top of 1 allowed.
TEST_F(DisplayShowsTest, NumberMayBeHalfADecimalOff) {
  ExpectCoolant(1);
  Begin(0, 0);
  Dash(S(1), 910, 0, 0);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_NEAR(verdict.margin, 0.5, 1e-9);  // 1.5 - 1
  EXPECT_EQ(verdict.margin_unit, "degC");
  EXPECT_EQ(verdict.evidence.quantity, "dash.shown");
  EXPECT_EQ(verdict.detail,
            "gauge coolant: at worst showed 91 °C, should be 90.0 °C ± 1.5 °C (1.0 °C tolerance + "
            "0.5 °C for the last digit shown)");
}

TEST_F(DisplayShowsTest, WrongNumberFails) {
  ExpectCoolant(1);
  Begin(0, 0);
  Dash(S(1), 900, 0, 0);
  Dash(S(2), 920, 0, 0);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_NEAR(verdict.margin, -0.5, 1e-9);
  EXPECT_EQ(verdict.worst_ns, S(2));
  EXPECT_EQ(
      verdict.detail,
      "gauge coolant: showed 92 °C, should be 90.0 °C ± 1.5 °C (1.0 °C tolerance + 0.5 °C for the "
      "last digit shown), in 1 of 2 frames");
}

// It says 91, and that it shows nothing: 3 not available, 4 off.
TEST_F(DisplayShowsTest, ANumberWithoutAValueToShowFails) {
  ExpectCoolant(1);
  Begin(0, 0);
  Dash(S(1), 910, 3, 0);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_EQ(verdict.detail, "gauge coolant: showed no number in 1 of 1 frames");
}

TEST_F(DisplayShowsTest, ANumberOnADarkScreenFails) {
  ExpectCoolant(1);
  Begin(0, 0);
  Dash(S(1), 910, 4, 0);
  Dash(S(2), 910, 0, 0);
  EXPECT_EQ(Finish(S(10)).detail, "gauge coolant: showed no number in 1 of 2 frames");
}

TEST_F(DisplayShowsTest, NotAvailableIsAStateThatCanBeAskedFor) {
  shows().state = "not available";
  Begin(0, 0);
  Dash(S(1), 0, 3, 0);
  EXPECT_EQ(Finish(S(10)).outcome, Outcome::kMet);
}

// 90 degC = 90 * 9/5 + 32 = 194 degF.
TEST_F(DisplayShowsTest, StimulusIsConvertedToTheGaugeUnit) {
  bench_.display->gauges[0].unit = "degF";
  ExpectCoolant(0);
  Begin(0, 0);
  Dash(S(1), 1940, 0, 1);
  EXPECT_NEAR(Finish(S(10)).margin, 0.5, 1e-9);
}

// What must be shown judges, not what was set: set to a degree, and half of a tenth is all that is left.
TEST_F(DisplayShowsTest, IsJudgedByTheReadoutNotByWhatWasSet) {
  bench_.readouts = RequiredReadouts(bench_);
  bench_.readouts[0].decimals = 1;
  ExpectCoolant(0);
  Begin(0, 0);
  Dash(S(1), 904, 0, 0);
  EXPECT_NEAR(Finish(S(10)).margin, 0.05 - 0.4, 1e-9);
}

TEST_F(DisplayShowsTest, WithoutADisplaySectionTheReadoutsAreJudged) {
  bench_.readouts = RequiredReadouts(bench_);
  bench_.display.reset();
  ExpectCoolant(1);
  Begin(0, 0);
  Dash(S(1), 910, 0, 0);
  EXPECT_NEAR(Finish(S(10)).margin, 0.5, 1e-9);
}

// 25 psi of boost: 172.369 + 101.325 = 273.694 kPa, shown as 273.7. NIST SP 811 (2008) App. B.
TEST_F(DisplayShowsTest, BoostReadsAbsolute) {
  shows().gauge = 1;
  shows().target.stimulus = kBoost;
  shows().target.absolute = true;
  Begin(0, 0);
  Receive(S(1), kDash, {0, 0, 0, 0, 2737 & 0xFF, 2737 >> 8});
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_NEAR(verdict.margin, 0.05 - 0.0061, 1e-4);  // half of 0.1, no tolerance of its own
}

TEST_F(DisplayShowsTest, BoostReadAsGaugeFails) {
  shows().gauge = 1;
  shows().target.stimulus = kBoost;
  shows().target.absolute = true;
  Begin(0, 0);
  Receive(S(1), kDash, {0, 0, 0, 0, 1724 & 0xFF, 1724 >> 8});
  EXPECT_NEAR(Finish(S(10)).margin, -101.244, 1e-3);  // 0.05 - (273.694 - 172.4)
}

// Both messages lie on the way: 2 * (100 + 50) + 20 ms = 320 ms. 10 K/s: at 6 s 80, and was 76.8.
TEST_F(DisplayShowsTest, AgeTakesInBothMessages) {
  scenario_.steps[0].drives = {Ramp(kCoolant, 120, 10)};
  bench_.display->gauges[0].decimals = 1;
  ExpectCoolant(0);
  Begin(0, 0);
  Dash(S(6), 768, 0, 0);
  EXPECT_NEAR(Finish(S(6.1)).margin, 0.05, 1e-9);
}

TEST_F(DisplayShowsTest, UnitIsJudgedByTheNameOfItsCode) {
  ExpectCoolant(1);
  shows().unit = "degC";  // its code is called °C
  Begin(0, 0);
  Dash(S(1), 900, 0, 0);
  EXPECT_EQ(Finish(S(10)).outcome, Outcome::kMet);
}

TEST_F(DisplayShowsTest, WrongUnitFailsByFrames) {
  ExpectCoolant(1);
  shows().unit = "degC";
  Begin(0, 0);
  Dash(S(1), 900, 0, 0);
  Dash(S(2), 900, 0, 1);
  Dash(S(3), 900, 0, 1);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_DOUBLE_EQ(verdict.margin, -2);
  EXPECT_EQ(verdict.margin_unit, "frames");
  EXPECT_EQ(verdict.worst_ns, S(2));
  EXPECT_EQ(verdict.evidence.quantity, "dash.unit");
  EXPECT_EQ(verdict.detail, "gauge coolant: unit °F, should be °C, in 2 of 3 frames");
}

TEST_F(DisplayShowsTest, StateIsJudgedAlone) {
  shows().state = "warning";
  Begin(0, 0);
  Dash(S(1), 0, 1, 0);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_DOUBLE_EQ(verdict.margin, 1);
  EXPECT_EQ(verdict.margin_unit, "frames");
}

// A warning without hysteresis flickers where one with it stays.
TEST_F(DisplayShowsTest, FlickeringWarningFails) {
  shows().state = "warning";
  Begin(0, 0);
  Dash(S(1), 0, 1, 0);
  Dash(S(2), 0, 0, 0);
  Dash(S(3), 0, 1, 0);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_DOUBLE_EQ(verdict.margin, -1);
  EXPECT_EQ(verdict.detail, "gauge coolant: state ok, should be warning, in 1 of 3 frames");
}

TEST_F(DisplayShowsTest, NamesOfTheProfileGoBeforeTheUsualOnes) {
  bench_.buses[0].messages[kDash].signals[1].values = {{5, "ok"}, {0, "stale"}};
  shows().state = "ok";
  Begin(0, 0);
  Dash(S(1), 0, 5, 0);
  EXPECT_EQ(Finish(S(2)).outcome, Outcome::kMet);
}

TEST_F(DisplayShowsTest, EveryFailedPartIsNamedAndTheNumberLeads) {
  ExpectCoolant(1);
  shows().unit = "degC";
  shows().state = "ok";
  Begin(0, 0);
  Dash(S(1), 1000, 2, 1);
  const Verdict& verdict = Finish(S(10));
  EXPECT_NEAR(verdict.margin, -8.5, 1e-9);
  EXPECT_EQ(verdict.margin_unit, "degC");
  EXPECT_EQ(verdict.detail,
            "gauge coolant: showed 100 °C, should be 90.0 °C ± 1.5 °C (1.0 °C tolerance + 0.5 °C "
            "for the last "
            "digit shown), in 1 of 1 frames; unit °F, "
            "should be °C, in 1 of 1 frames; state stale, should be ok, in 1 of 1 frames");
}

TEST_F(DisplayShowsTest, SilentDisplayIsNotObserved) {
  ExpectCoolant(1);
  Begin(0, 0);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kNotObserved);
  EXPECT_EQ(verdict.detail, "gauge coolant: number not reported on the bus");
}

TEST_F(DisplayShowsTest, PartThatNoMessageCarriesIsNotObserved) {
  ExpectCoolant(1);
  shows().unit = "degC";
  bench_.buses[0].messages[kDash].signals[2].carries.clear();
  Begin(0, 0);
  Dash(S(1), 900, 0, 0);  // the number alone is right
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kNotObserved);
  EXPECT_THAT(verdict.detail, HasSubstr("no message of the display carries coolant.unit"));
}

// What others claim about a gauge is not the display's word.
TEST_F(DisplayShowsTest, OnlyTheDisplayIsBelieved) {
  ExpectCoolant(1);
  bench_.buses[0].messages[kDash].sender = profile::Sender::kController;
  Begin(0, 0);
  Dash(S(1), 900, 0, 0);
  EXPECT_EQ(Finish(S(10)).outcome, Outcome::kNotObserved);
}

}  // namespace
}  // namespace drycrank::check
