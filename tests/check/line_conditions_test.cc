// SPDX-License-Identifier: Apache-2.0
//
// Conditions on pins and on the crank, fed by hand; times in ms, reckoned in the comments.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <memory>

#include "check/checker.h"
#include "profile/protection.h"

namespace drycrank::check {
namespace {

namespace expect = profile::expect;
using profile::Compare;
using profile::Condition;
using profile::Line;
using profile::LooksAt;
using testing::HasSubstr;

class LineConditionsTest : public testing::Test {
 protected:
  LineConditionsTest() {
    bench_.stimuli.emplace_back().name = "engine_speed";
    bench_.controller.emplace();
    bench_.controller->triggers.resize(1);
    scenario_.steps.resize(1);
    scenario_.steps[0].name = "run";
    scenario_.steps[0].for_s = 10;
  }

  static Condition Output(Line line, bool on) {
    Condition c;
    c.looks_at = LooksAt::kOutput;
    c.line = line;
    c.value = on ? 1 : 0;
    c.text = on ? "it is on" : "it is off";
    return c;
  }
  static Condition Age(Line line, Compare compare, double s) {
    Condition c;
    c.looks_at = LooksAt::kAge;
    c.line = line;
    c.compare = compare;
    c.value = s;
    c.text = "its age";
    return c;
  }
  static Condition Turning() {
    Condition c;
    c.looks_at = LooksAt::kCrank;
    c.value = 1;
    c.text = "the crank turns";
    return c;
  }
  template <class Kind>
  profile::Expectation& Expect(Condition condition) {
    profile::Expectation& e = scenario_.expectations.emplace_back();
    e.kind.emplace<Kind>().condition = std::move(condition);
    return e;
  }
  void Switch(double ms, bool on) { outputs_.push_back({FromMs(ms), OutputKind::kSwitch, 2, on}); }
  void Coil(double ms, int cylinder, bool on) {
    outputs_.push_back({FromMs(ms), OutputKind::kCoil, cylinder, on});
  }
  void Tooth(double ms) { edges_.push_back({FromMs(ms), 0, true}); }
  void Turn(double ms, double rpm) {
    motions_.push_back({FromMs(ms), {}, {.kind = SegmentKind::kHold, .speed_rpm = rpm}});
  }

  // As a run does: what happened in each 10 ms, edges first.
  const Verdict& Play() {
    timeline_ = std::make_unique<scenario::Timeline>(bench_, scenario_);
    checker_ = std::make_unique<Checker>(bench_, scenario_, *timeline_);
    timeline_->BeginStep(0, 0);
    checker_->OnStep(0, 0);
    for (double ms = 0; ms < 10000; ms += 10) {
      const auto in = [&](TimeNs t_ns) { return t_ns >= FromMs(ms) && t_ns < FromMs(ms + 10); };
      for (const auto& motion : motions_) {
        if (in(motion.begin_ns)) checker_->OnMotion(motion);
      }
      for (const Edge& edge : edges_) {
        if (in(edge.t_ns)) checker_->OnEdge(edge);
      }
      for (const OutputEvent& event : outputs_) {
        if (in(event.t_ns)) checker_->OnOutput(event);
      }
    }
    checker_->Finish(FromMs(10000));
    return checker_->verdicts().front();
  }

  static constexpr Line kPump{Line::Kind::kSwitch, 2}, kAnyCoil{Line::Kind::kCoil, 0},
      kCoil3{Line::Kind::kCoil, 3}, kCrank{Line::Kind::kTrigger, 0};
  profile::Bench bench_;
  profile::Scenario scenario_;
  std::vector<CrankMotion> motions_;
  std::vector<Edge> edges_;
  std::vector<OutputEvent> outputs_;
  std::unique_ptr<scenario::Timeline> timeline_;
  std::unique_ptr<Checker> checker_;
};

TEST_F(LineConditionsTest, AnOutputThatIsOnceOnIsNotAlwaysOff) {
  Expect<expect::Always>(Output(kPump, false));
  Switch(3000, true);
  Switch(3250, false);
  const Verdict& verdict = Play();
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_NEAR(verdict.margin, -0.25, 1e-9);
  EXPECT_EQ(verdict.worst_ns, FromMs(3000));
}

TEST_F(LineConditionsTest, NeverIsTheOther) {
  Expect<expect::Never>(Output(kPump, true));
  Switch(3000, true);
  Switch(3250, false);
  EXPECT_EQ(Play().outcome, Outcome::kFailed);
  scenario_.expectations.clear();
  Expect<expect::Never>(Output(kCoil3, true));
  EXPECT_EQ(Play().outcome, Outcome::kMet);
  EXPECT_NEAR(Play().margin, 10, 1e-9);
}

// The pump runs 2 s longer than the crank: 3 s to 5 s, judged while the crank stands.
TEST_F(LineConditionsTest, WhenLeavesOnlyItsTime) {
  Expect<expect::Never>(Output(kPump, true)).when = Age(kCrank, Compare::kAbove, 0.5);
  for (double ms = 1000; ms <= 3000; ms += 20) Tooth(ms);
  Switch(1000, true);
  Switch(5000, false);
  const Verdict& verdict = Play();
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_NEAR(verdict.margin, -1.5, 1e-9);  // from 3.5 s on
  EXPECT_EQ(verdict.worst_ns, FromMs(3500));
}

TEST_F(LineConditionsTest, AndIsMetWhereThePumpStopsInTime) {
  Expect<expect::Never>(Output(kPump, true)).when = Age(kCrank, Compare::kAbove, 0.5);
  for (double ms = 1000; ms <= 3000; ms += 20) Tooth(ms);
  Switch(1000, true);
  Switch(3400, false);
  EXPECT_EQ(Play().outcome, Outcome::kMet);
}

// Edges of one sample are told before its outputs; what is between them in time is judged there.
TEST_F(LineConditionsTest, EdgesAndOutputsOfOneSampleAreInOrder) {
  Expect<expect::Never>(Output(kPump, true)).when = Age(kCrank, Compare::kAbove, 0.5);
  Tooth(1000);
  Tooth(2009);  // after the pump has been off for 5 ms
  Switch(1002, true);
  Switch(2004, false);
  EXPECT_NEAR(Play().margin, -(2.004 - 1.5), 1e-9);
}

// Sparks every 100 ms until 2 s, then again at 2.6 s.
TEST_F(LineConditionsTest, AnAgeHasItsWorstJustBeforeTheNextEdge) {
  Expect<expect::Always>(Age(kAnyCoil, Compare::kBelow, 0.5)).during = {"run"};
  for (double ms = 10; ms <= 2010; ms += 100) Coil(ms, 1, true);
  for (double ms = 2610; ms < 10000; ms += 100) Coil(ms, 2, true);
  const Verdict& verdict = Play();
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_NEAR(verdict.margin, -0.1, 1e-9);
  EXPECT_EQ(verdict.worst_ns, FromMs(2510));
}

TEST_F(LineConditionsTest, WhileTheCrankTurnsIsJudgedByTheCrank) {
  Expect<expect::Always>(Output(kPump, true)).when = Turning();
  Turn(0, 0);
  Turn(2000, 900);
  Turn(4000, 0);
  Switch(1990, true);
  Switch(4500, false);
  for (double ms = 0; ms < 10000; ms += 5) Tooth(ms);
  EXPECT_EQ(Play().outcome, Outcome::kMet);
  EXPECT_NEAR(Play().margin, 2, 0.011);
}

TEST_F(LineConditionsTest, WithinIsFromTheBeginOfItsTime) {
  auto& within = std::get<expect::Within>(Expect<expect::Within>(Output(kPump, true)).kind);
  within.within_s = 2;
  Switch(1500, true);
  EXPECT_NEAR(Play().margin, 0.5, 1e-9);
  within.within_s = 1;
  EXPECT_EQ(Play().outcome, Outcome::kFailed);
  EXPECT_THAT(Play().detail, HasSubstr("happened after 1.500 s, 1.000 s allowed"));
}

TEST_F(LineConditionsTest, NotAtAllIsNotInTime) {
  auto& within = std::get<expect::Within>(Expect<expect::Within>(Output(kPump, true)).kind);
  within.within_s = 2;
  Tooth(100);
  EXPECT_EQ(Play().outcome, Outcome::kFailed);
  EXPECT_NEAR(Play().margin, -8, 1e-9);
}

TEST_F(LineConditionsTest, ForAtLeastTakesTheLongest) {
  auto& held = std::get<expect::ForAtLeast>(Expect<expect::ForAtLeast>(Output(kPump, true)).kind);
  held.for_s = 2;
  Switch(1000, true);
  Switch(2000, false);
  Switch(3000, true);
  Switch(5500, false);
  EXPECT_NEAR(Play().margin, 0.5, 1e-9);
}

// Of a real controller no pin is seen.
TEST_F(LineConditionsTest, WhereNothingIsSeenNothingIsJudged) {
  Expect<expect::Never>(Output(kPump, true));
  EXPECT_EQ(Play().outcome, Outcome::kNotObserved);
}

}  // namespace
}  // namespace drycrank::check
