// SPDX-License-Identifier: Apache-2.0
//
// A display of one message, worked by hand: byte 0 coolant, raw - 40 degC; byte 1 a gear, raw - 1;
// bytes 2 and 3 an oil pressure of 0.1 kPa.
#include "sweep/sweep.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <string>

#include "sweep/standin_screen.h"
#include "sweep/which_setting.h"
#include "tests/sweep/small_bench.h"

namespace drycrank::sweep {
namespace {

using testing::Contains;
using testing::Each;

ShownFact FactOf(const std::vector<ShownFact>& facts, const std::string& readout, Step step,
                 std::optional<double> input = {}) {
  const auto found = std::ranges::find_if(facts, [&](const ShownFact& f) {
    return f.readout == readout && f.step == step && (!input || f.input == input);
  });
  EXPECT_NE(found, facts.end()) << readout << " " << Name(step);
  return found == facts.end() ? ShownFact() : *found;
}

class SmallSweep : public testing::Test {
 protected:
  std::vector<ShownFact> Facts() { return SweepStandin(bench_, 1).facts; }
  profile::Gauge& Coolant() { return bench_.display->gauges[0]; }
  void MakeOilAFloat() {
    for (profile::Message* message : {&bench_.buses[0].messages[0], &bench_.display->layouts[0]}) {
      profile::Signal& oil = message->signals[2];
      oil.start_bit = oil.length_bits = 32;
      oil.is_float = true;
      oil.scale = 1;
      oil.unit = "";
    }
  }
  profile::Bench bench_ = SmallBench();
};

// Raw 152 is 112 degC and quiet, 153 warns; back at 108 it is quiet, at 109 it still warns.
TEST_F(SmallSweep, LimitAndReleaseComeOutAsNumbers) {
  const auto facts = Facts();
  const ShownFact limit = FactOf(facts, "coolant", Step::kWarnsAbove);
  EXPECT_EQ(limit.input, 112);
  EXPECT_EQ(limit.shown.text, "quiet at 112; warns at 113");
  EXPECT_EQ(limit.shown.lamp, "red");
  const ShownFact end = FactOf(facts, "coolant", Step::kEndsBelow);
  EXPECT_EQ(end.input, 108);
  EXPECT_EQ(end.shown.text, "quiet at 108; warns at 109");
  EXPECT_EQ(FactOf(facts, "coolant", Step::kWarnsBelow).shown.text, kNever);
}

// 15 psi are 103.42 kPa (NIST SP 811: 6.894757 kPa): 103.4 kPa, 14.9969 psi, warns; 103.5 does not.
TEST_F(SmallSweep, ALimitInAnotherUnitIsTheNumberThatWasTyped) {
  const ShownFact limit = FactOf(Facts(), "oil", Step::kWarnsBelow);
  EXPECT_EQ(limit.input, 15);
  EXPECT_EQ(limit.shown.text, "quiet at 15.0114; warns at 14.9969");
}

// 152 * 0.1 is a little more in binary.
TEST_F(SmallSweep, ALimitOfATenthIsTheNumberThatWasTyped) {
  profile::Gauge& oil = bench_.display->gauges[2];
  oil.unit = "kPa";
  oil.decimals = 1;
  oil.warn_below.reset();
  oil.warn_above = 15.6;
  oil.hysteresis = 0.4;
  const auto facts = Facts();
  const ShownFact limit = FactOf(facts, "oil", Step::kWarnsAbove);
  EXPECT_EQ(limit.input, 15.6);
  EXPECT_EQ(limit.shown.text, "quiet at 15.6; warns at 15.7");
  const ShownFact end = FactOf(facts, "oil", Step::kEndsBelow);
  EXPECT_EQ(end.input, 15.2);
  EXPECT_EQ(end.shown.text, "quiet at 15.2; warns at 15.3");
}

// Bytes 4 to 7 are nobody's: they are ones, and so is what a layout takes of them.
TEST_F(SmallSweep, ASignalSetTooLongIntoBitsOfNobodyIsFound) {
  const auto right = Facts();
  for (const int bits : {17, 24, 32}) {
    bench_.display->layouts[0].signals[2].length_bits = bits;
    EXPECT_NE(FactOf(Facts(), "oil", Step::kUp, 0), FactOf(right, "oil", Step::kUp, 0)) << bits;
  }
}

// Beyond what is shown, a float is sent as well: a gauge that holds it elsewhere is found.
TEST_F(SmallSweep, AFloatIsSweptBeyondWhatIsShown) {
  MakeOilAFloat();
  profile::Gauge& gauge = bench_.display->gauges[2];
  gauge.unit = "";
  gauge.warn_below.reset();
  for (const bool said : {false, true}) {
    if (said) bench_.buses[0].messages[0].signals[2].min = -2;
    if (said) bench_.buses[0].messages[0].signals[2].max = 200;
    profile::Readout readout;
    readout.name = "oil";
    readout.message = "engine";
    readout.signal = "oil";
    readout.min = 0;
    readout.max = 150;
    bench_.readouts = {readout};
    const auto at = [&](std::optional<double> min, std::optional<double> max) {
      gauge.min = min;
      gauge.max = max;
      return Facts();
    };
    const auto right = at(0, 150);
    EXPECT_NE(at(0, {}), right) << said;
    EXPECT_NE(at(0, 151), right) << said;
    EXPECT_NE(at(-1, 150), right) << said;
  }
}

// What a float's own ends hold back is not said to have been sent.
TEST_F(SmallSweep, AFloatIsSweptBetweenItsOwnEnds) {
  MakeOilAFloat();
  for (profile::Message* message : {&bench_.buses[0].messages[0], &bench_.display->layouts[0]}) {
    message->signals[2].min = 0.5;
    message->signals[2].max = 2;
  }
  bench_.display->gauges[2].unit = "";
  bench_.display->gauges[2].decimals = 2;
  int points = 0;
  for (const ShownFact& fact : Facts()) {
    if (fact.readout != "oil" || fact.step != Step::kUp) continue;
    ++points;
    EXPECT_GE(*fact.input, 0.5);
    EXPECT_LE(*fact.input, 2);
    EXPECT_NEAR(std::stod(fact.shown.text), *fact.input, 0.0051);
  }
  EXPECT_GE(points, 8);
}

TEST_F(SmallSweep, ALimitWhereNoneShouldBeIsFound) {
  Coolant().warn_below = -20;
  EXPECT_EQ(FactOf(Facts(), "coolant", Step::kWarnsBelow).input, -20);
}

// From 112 it would have to come back to -388, and the message ends at -40.
TEST_F(SmallSweep, WarningAllTheWayAndWithoutAnEndAreSaid) {
  Coolant().warn_above = -100;
  EXPECT_EQ(FactOf(Facts(), "coolant", Step::kWarnsAbove).shown.text, kAlways);
  Coolant().warn_above = 112;
  Coolant().hysteresis = 500;
  EXPECT_EQ(FactOf(Facts(), "coolant", Step::kEndsBelow).shown.text, kNoEnd);
}

TEST_F(SmallSweep, BothEndsOfTheMessageAndEachNameAreShown) {
  const auto facts = Facts();
  EXPECT_EQ(FactOf(facts, "coolant", Step::kUp, -40).shown.text, "-40");
  EXPECT_EQ(FactOf(facts, "coolant", Step::kDown, 215).shown.text, "215");
  EXPECT_EQ(FactOf(facts, "gear", Step::kUp, -1).shown.text, "R");
  EXPECT_EQ(FactOf(facts, "gear", Step::kUp, 0).shown.text, "N");
  EXPECT_EQ(FactOf(facts, "gear", Step::kUp, 6).shown.text, "6");
  EXPECT_EQ(FactOf(facts, "gear", Step::kUp, 254).shown.text, "6") << "held at its highest";
}

TEST_F(SmallSweep, SilenceIsMeasuredToTheMillisecond) {
  const auto facts = Facts();
  const ShownFact gone = FactOf(facts, "coolant", Step::kGoneAfter);
  EXPECT_DOUBLE_EQ(gone.input.value_or(0), 1.5);
  EXPECT_EQ(gone.shown.text, "---");
  EXPECT_EQ(FactOf(facts, "coolant", Step::kBack).shown.state, "ok");
  EXPECT_EQ(FactOf(facts, "coolant", Step::kPowerOn).shown.text, "---");
}

// 100 ms between its frames, and gone after 50: it flickers, and every point says so.
TEST_F(SmallSweep, AValueThatIsGoneBeforeTheNextFrameIsSeen) {
  Coolant().stale_ms = 50;
  for (const ShownFact& f : Facts()) {
    if (f.readout != "coolant" || f.step != Step::kUp) continue;
    EXPECT_EQ(f.shown.state, "stale");
  }
}

TEST_F(SmallSweep, AReadoutThatIsNotThereIsAbsent) {
  bench_.readouts = RequiredReadouts(bench_);
  bench_.display->gauges.erase(bench_.display->gauges.begin());
  EXPECT_EQ(FactOf(Facts(), "coolant", Step::kUp, -40).shown.state, "absent");
}

// Neighbours rest elsewhere for each seed, and a right display does not care.
TEST_F(SmallSweep, SeedsChangeNothingThatARightDisplayShows) {
  const auto facts = Facts();
  for (std::uint64_t seed = 2; seed <= 20; ++seed) {
    EXPECT_EQ(SweepStandin(bench_, seed).facts, facts) << seed;
  }
}

TEST_F(SmallSweep, ANeighbourIsNotMistakenForTheReadout) {
  bench_.readouts = RequiredReadouts(bench_);
  Coolant().signal = "gear";
  const auto facts = Facts();
  std::vector<std::string> texts;
  for (const ShownFact& f : facts) {
    if (f.readout == "coolant" && f.step == Step::kUp) texts.push_back(f.shown.text);
  }
  EXPECT_THAT(texts, Each(texts.front())) << "it stands still";
}

TEST_F(SmallSweep, TheInputsComeFromWhatMustBeShownAlone) {
  bench_.readouts = RequiredReadouts(bench_);
  const auto before = SweepPoints(bench_, bench_.readouts[0]);
  Coolant().warn_above = 60;
  EXPECT_EQ(SweepPoints(bench_, bench_.readouts[0]), before);
  EXPECT_THAT(before, Contains(113));
}

TEST_F(SmallSweep, ADisplaySetAsRequiredShowsTheSame) {
  bench_.readouts = RequiredReadouts(bench_);
  EXPECT_EQ(SweepStandin(AsRequired(bench_), 1).facts, Facts());
}

// Two ends that differ need one hysteresis each.
TEST_F(SmallSweep, RequiredEndsMayDiffer) {
  bench_.readouts = RequiredReadouts(bench_);
  bench_.readouts[0].warn_below = 0;
  bench_.readouts[0].warn_below_ends = 7;
  const auto facts = SweepStandin(AsRequired(bench_), 1).facts;
  EXPECT_EQ(FactOf(facts, "coolant", Step::kEndsBelow).input, 108);
  EXPECT_EQ(FactOf(facts, "coolant", Step::kEndsAbove).input, 7);
}

}  // namespace
}  // namespace drycrank::sweep
