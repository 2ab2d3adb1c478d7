// SPDX-License-Identifier: Apache-2.0
//
// Sparks and cam edges in degrees, fed by hand: 1000 r/min are 6 degrees of crank in a millisecond,
// so an angle of A degrees is reached after A / 6 ms.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <memory>
#include <string>
#include <vector>

#include "check/checker.h"
#include "check/crank.h"
#include "profile/triggers.h"

namespace drycrank::check {
namespace {

namespace expect = profile::expect;
using testing::HasSubstr;

constexpr double kRunDeg = 7200;  // ten cycles

class DegreesTest : public testing::Test {
 protected:
  static constexpr int kCrank = 0, kCam = 1, kOther = 2;

  DegreesTest() {
    bench_.stimuli.emplace_back();
    bench_.stimuli.back().name = "engine_speed";
    bench_.stimuli.back().unit = "rpm";
    bench_.engine.firing_order = {1, 3, 4, 2};
    bench_.engine.firing_angles_deg = {0, 180, 360, 540};
    bench_.controller.emplace();
    // 36 teeth of 5 degrees, the last one missing; cams of two unequal teeth.
    std::vector<Tooth> crank;
    for (int k = 0; k < 35; ++k) crank.push_back({10.0 * k, 10.0 * k + 5});
    AddWheel("crank", profile::Shaft::kCrank, crank, 0);
    AddWheel("intake", profile::Shaft::kCam, {{10, 40}, {100, 200}}, 30);
    AddWheel("exhaust", profile::Shaft::kCam, {{0, 20}, {90, 130}}, 90);
    bench_.controller->decoder.cams = {kCam, kOther};
    scenario_.steps.emplace_back();
    scenario_.steps.back().name = "running";
    scenario_.steps.back().for_s = 100;
  }

  void AddWheel(const std::string& name, profile::Shaft shaft, std::vector<Tooth> teeth,
                double offset_deg) {
    profile::Trigger trigger;
    trigger.name = name;
    trigger.shaft = shaft;
    trigger.wheel.teeth = teeth;
    trigger.offset_deg = offset_deg;
    trigger.pickup =
        profile::HallPickup{.supply = name + ".1", .ground = name + ".2", .signal = name + ".3"};
    bench_.triggers.push_back(trigger);
    profile::TriggerChannel channel;
    channel.name = name;
    channel.terminal = "C." + name;
    channel.shaft = shaft;
    bench_.controller->triggers.push_back(channel);
    profile::Wire wire;
    wire.circuit = name;
    wire.from = name + ".3";
    wire.to = "C." + name;
    bench_.wires.push_back(wire);
  }

  template <class Kind>
  Kind& Expect() {
    return scenario_.expectations.emplace_back().kind.emplace<Kind>();
  }
  expect::FiresAt& ExpectSparks() {
    auto& fires = Expect<expect::FiresAt>();
    fires.advance_at_rpm = {{0, 10}};
    fires.tolerance_deg = 2;
    return fires;
  }
  void ExpectCam(int cam) {
    auto& edges = Expect<expect::CamEdges>();
    edges.trigger = edges.input = cam;
    edges.cam = bench_.triggers[static_cast<std::size_t>(cam)].name;
    edges.tolerance_deg = 2;
  }

  static TimeNs At(double deg) { return FromMs(deg / 6); }
  // A coil: 12 degrees of dwell, 2 ms, up to the spark.
  void Spark(int cylinder, double deg) {
    outputs_.push_back({At(deg - 12), OutputKind::kCoil, cylinder, true});
    outputs_.push_back({At(deg), OutputKind::kCoil, cylinder, false});
  }
  // Each cylinder `late_deg` after its 10 degrees before top dead centre, ten cycles.
  void Sparks(double late_deg, int without = 0) {
    for (int cycle = 0; cycle < 10; ++cycle) {
      for (std::size_t i = 0; i < 4; ++i) {
        const int cylinder = bench_.engine.firing_order[i];
        const double deg = 720 * cycle + 180.0 * static_cast<double>(i) - 10 + late_deg;
        if (cylinder != without && deg > 12 && deg < kRunDeg) Spark(cylinder, deg);
      }
    }
  }
  // The output is low at a tooth.
  void Teeth(int wheel, double late_deg, int without = 0, bool inverted = false) {
    const profile::Trigger& trigger = bench_.triggers[static_cast<std::size_t>(wheel)];
    const double per_turn = trigger.shaft == profile::Shaft::kCam ? 720 : 360;
    for (double turn = -2; turn * per_turn < kRunDeg + 720; ++turn) {
      int number = 0;
      for (const Tooth& tooth : trigger.wheel.teeth) {
        if (++number == without) continue;
        const double base = turn * per_turn + trigger.offset_deg + late_deg;
        AddEdge(base + tooth.begin_deg * per_turn / 360, wheel, inverted);
        AddEdge(base + tooth.end_deg * per_turn / 360, wheel, !inverted);
      }
    }
  }
  void AddEdge(double deg, int wheel, bool high) {
    if (deg > 0 && deg < kRunDeg) edges_.push_back({At(deg), wheel, high});
  }

  const Verdict& Play(bool with_motion = true) {
    timeline_ = std::make_unique<scenario::Timeline>(bench_, scenario_);
    checker_ = std::make_unique<Checker>(bench_, scenario_, *timeline_);
    if (with_motion) {
      checker_->OnMotion({0, {}, {.kind = SegmentKind::kHold, .speed_rpm = 1000}});
    }
    timeline_->BeginStep(0, 0);
    checker_->OnStep(0, 0);
    std::ranges::stable_sort(edges_, {}, &Edge::t_ns);
    for (const Edge& edge : edges_) checker_->OnEdge(edge);
    std::ranges::stable_sort(outputs_, {}, &OutputEvent::t_ns);
    for (const OutputEvent& event : outputs_) checker_->OnOutput(event);
    checker_->Finish(At(kRunDeg));
    return checker_->verdicts().front();
  }

  profile::Bench bench_;
  profile::Scenario scenario_;
  std::vector<Edge> edges_;
  std::vector<OutputEvent> outputs_;
  std::unique_ptr<scenario::Timeline> timeline_;
  std::unique_ptr<Checker> checker_;
};

TEST_F(DegreesTest, SparksAtTheirDegreeAreMet) {
  ExpectSparks();
  Sparks(1.5);
  const Verdict& verdict = Play();
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_NEAR(verdict.margin, 0.5, 1e-4);
  EXPECT_EQ(verdict.judged, 39U);  // the first would be due before the run begins
  EXPECT_THAT(verdict.detail,
              HasSubstr("8.5° before top dead centre, should be 10.0° before ± 2.0°"));
}

TEST_F(DegreesTest, LateSparksFailAndSayByHowMuch) {
  ExpectSparks();
  Sparks(6);
  const Verdict& verdict = Play();
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_NEAR(verdict.margin, -4, 1e-4);
  EXPECT_THAT(verdict.detail, HasSubstr("all 6.0° late by the same"));
}

TEST_F(DegreesTest, AWholeTurnIsNamed) {
  ExpectSparks();
  Sparks(360);
  EXPECT_EQ(Play().outcome, Outcome::kFailed);
  EXPECT_THAT(Play().detail, HasSubstr("360.0° late"));
  EXPECT_THAT(Play().detail, HasSubstr("a whole turn of the crank off"));
}

TEST_F(DegreesTest, ACylinderThatIsLeftOutFails) {
  ExpectSparks();
  Sparks(0, 4);
  const Verdict& verdict = Play();
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_EQ(verdict.margin_unit, "sparks");
  EXPECT_THAT(verdict.detail, HasSubstr("cylinder 4 was left out for 20.0 turns"));
}

TEST_F(DegreesTest, OfOneCylinderTheOthersAreNoMatter) {
  ExpectSparks().cylinder = 3;
  Sparks(0, 4);
  EXPECT_EQ(Play().outcome, Outcome::kMet);
}

TEST_F(DegreesTest, DwellIsMeasured) {
  ExpectSparks().dwell_at_least_ms = 2.5;
  Sparks(0);
  const Verdict& verdict = Play();
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_NEAR(verdict.margin, -0.5, 1e-6);
  EXPECT_EQ(verdict.margin_unit, "ms");
}

TEST_F(DegreesTest, NothingSeenMeetsNothing) {
  ExpectSparks();
  EXPECT_EQ(Play().outcome, Outcome::kNotObserved);
  EXPECT_THAT(Play().detail, HasSubstr("no spark at all was seen while the crank made 20.0 turns"));
}

TEST_F(DegreesTest, WithoutMotionNothingHasADegree) {
  ExpectSparks();
  Sparks(0);
  EXPECT_EQ(Play(false).outcome, Outcome::kNotObserved);
  EXPECT_THAT(Play(false).detail, HasSubstr("no motion.csv"));
}

TEST_F(DegreesTest, TheOrderIsTheEngines) {
  Expect<expect::Order>();
  Sparks(0);
  EXPECT_EQ(Play().outcome, Outcome::kMet);
  std::swap(outputs_[5].cylinder, outputs_[7].cylinder);
  EXPECT_EQ(Play().outcome, Outcome::kFailed);
}

// Each once in every turn: 1 and 4 together, then 3 and 2, either of them first.
TEST_F(DegreesTest, InPairsEachIsDueInEveryTurn) {
  Expect<expect::Order>();
  bench_.controller->decoder.firing = profile::Firing::kPaired;
  Sparks(0);
  const auto once = outputs_;
  for (OutputEvent event : once) {
    const int partner[] = {0, 4, 3, 2, 1};
    event.cylinder = partner[event.cylinder];
    outputs_.push_back(event);
  }
  std::ranges::stable_sort(outputs_, {}, &OutputEvent::t_ns);
  EXPECT_EQ(Play().outcome, Outcome::kMet);
  bench_.controller->decoder.firing = profile::Firing::kSequential;
  EXPECT_EQ(Play().outcome, Outcome::kFailed);
}

TEST_F(DegreesTest, EdgesAtTheirPlacesAreMet) {
  ExpectCam(kCam);
  Teeth(kCrank, 0);
  Teeth(kCam, 1);
  const Verdict& verdict = Play();
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_NEAR(verdict.margin, 1, 1e-4);
  EXPECT_GE(verdict.judged, 8U);
}

TEST_F(DegreesTest, ALateCamIsLateAsAWhole) {
  ExpectCam(kCam);
  Teeth(kCrank, 0);
  Teeth(kCam, 18);
  EXPECT_EQ(Play().outcome, Outcome::kFailed);
  EXPECT_THAT(Play().detail, HasSubstr("intake comes 18.0° late against the crank wheel"));
}

// Too far to know its edges one by one: 70 of the 100 degrees between them. Still not one is
// missing.
TEST_F(DegreesTest, AWheelTurnedFarIsOffByDegreesNotByEdges) {
  ExpectCam(kCam);
  Teeth(kCrank, 0);
  Teeth(kCam, 70);
  const Verdict& verdict = Play();
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_EQ(verdict.margin_unit, "deg");
  EXPECT_NEAR(verdict.margin, 2 - 70, 1e-4);
  EXPECT_THAT(verdict.detail, HasSubstr("intake comes 70.0° late against the crank wheel"));
}

TEST_F(DegreesTest, CrankAndCamLateTogetherAreRightAgainstEachOther) {
  ExpectCam(kCam);
  Teeth(kCrank, 10);  // a whole pitch: only the gap tells
  Teeth(kCam, 10);
  EXPECT_EQ(Play().outcome, Outcome::kMet);
}

TEST_F(DegreesTest, ALateCrankMakesTheCamEarly) {
  ExpectCam(kCam);
  Teeth(kCrank, 10);
  Teeth(kCam, 0);
  EXPECT_EQ(Play().outcome, Outcome::kFailed);
  EXPECT_THAT(Play().detail, HasSubstr("intake comes 10.0° early"));
}

TEST_F(DegreesTest, AMissingToothIsNamed) {
  ExpectCam(kCam);
  Teeth(kCrank, 0);
  Teeth(kCam, 0, 2);
  const Verdict& verdict = Play();
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_EQ(verdict.margin, -2);
  EXPECT_EQ(verdict.margin_unit, "edges");
  // 30 + 2 x 100 degrees of crank.
  EXPECT_THAT(verdict.detail, HasSubstr("where tooth 2 begins, due at 230.0°"));
}

TEST_F(DegreesTest, AnEdgeTooManyIsNamed) {
  ExpectCam(kCam);
  Teeth(kCrank, 0);
  Teeth(kCam, 0);
  AddEdge(720 * 3 + 600, kCam, false);
  AddEdge(720 * 3 + 604, kCam, true);
  EXPECT_EQ(Play().outcome, Outcome::kFailed);
  EXPECT_THAT(Play().detail, HasSubstr("2 too many on intake, the first at 600.0°; 1 of"));
}

TEST_F(DegreesTest, InvertedLevelsAreNamed) {
  ExpectCam(kCam);
  Teeth(kCrank, 0);
  Teeth(kCam, 0, 0, true);
  EXPECT_EQ(Play().outcome, Outcome::kFailed);
  EXPECT_THAT(Play().detail, HasSubstr("every edge at its place with the levels inverted"));
}

TEST_F(DegreesTest, HalfATurnOfTheFirstCamIsNotSeenOfAnotherItIs) {
  ExpectCam(kCam);
  Teeth(kCrank, 0);
  Teeth(kCam, 360);
  EXPECT_EQ(Play().outcome, Outcome::kMet);
  scenario_.expectations.clear();
  ExpectCam(kOther);
  Teeth(kOther, 360);
  EXPECT_EQ(Play().outcome, Outcome::kMet);  // against the first cam
  edges_.clear();
  Teeth(kCrank, 0);
  Teeth(kCam, 0);
  Teeth(kOther, 360);
  EXPECT_EQ(Play().outcome, Outcome::kFailed);
  EXPECT_THAT(Play().detail,
              HasSubstr("exhaust comes 360.0° late against the crank wheel and intake"));
}

TEST_F(DegreesTest, WithoutACrankThereIsNothingToMeasureAgainst) {
  ExpectCam(kCam);
  Teeth(kCam, 0);
  EXPECT_EQ(Play().outcome, Outcome::kNotObserved);
  EXPECT_THAT(Play().detail, HasSubstr("the crank wheel was not seen"));
}

TEST(CrankTest, PlacesByTheMotionThatWasThen) {
  Crank crank;
  EXPECT_FALSE(crank.AngleAt(0).has_value());
  crank.OnMotion({0, {}, {.kind = SegmentKind::kHold, .speed_rpm = 1000}});
  crank.OnMotion({FromMs(10), {0, 60}, {.kind = SegmentKind::kHold, .speed_rpm = 0}});
  EXPECT_NEAR(crank.AngleAt(FromMs(5))->deg, 30, 1e-9);
  EXPECT_NEAR(crank.AngleAt(FromMs(50))->deg, 60, 1e-9);
  EXPECT_EQ(crank.SpeedRpmAt(FromMs(5)), 1000);
  EXPECT_EQ(crank.SpeedRpmAt(FromMs(50)), 0);
}

}  // namespace
}  // namespace drycrank::check
