// SPDX-License-Identifier: Apache-2.0
//
// Faults whose effect can be worked by hand, on the shipped kart (invented).
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>
#include <set>

#include "profile/load.h"
#include "run/runner.h"
#include "study/campaign_run.h"
#include "walk/walk.h"

namespace drycrank::study {
namespace {

using report::FaultResult;
using report::NoticedBy;
using testing::Contains;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

profile::Bench Kart() {
  profile::LoadedBench loaded = profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/kart.yaml");
  if (!loaded.bench) std::abort();
  return std::move(*loaded.bench);
}

class Campaign : public testing::Test {
 protected:
  static void SetUpTestSuite() {
    bench_ = new profile::Bench(Kart());
    walk_ = new walk::Walk(walk::MakeWalk(*bench_));
    run_ = new CampaignRun(*bench_, walk_->scenario, 1);
  }
  static void TearDownTestSuite() {
    delete run_;
    delete walk_;
    delete bench_;
  }

  // The fault with these words, and this number when it has one.
  static FaultResult Try(const std::string& words, double value = 0) {
    for (std::size_t i = 0; i < run_->faults().size(); ++i) {
      const diagnose::Hypothesis& fault = run_->faults()[i];
      if (diagnose::Describe(*bench_, fault).find(words) == std::string::npos) continue;
      if (value == 0 || fault.value == value) return run_->Try(i);
    }
    ADD_FAILURE() << "no such fault: " << words;
    return {};
  }
  static const report::Effect* EffectOn(const FaultResult& result, const std::string& value) {
    for (const report::Effect& effect : result.effects) {
      if (effect.value.starts_with(value)) return &effect;
    }
    return nullptr;
  }

  static profile::Bench* bench_;
  static walk::Walk* walk_;
  static CampaignRun* run_;
};
profile::Bench* Campaign::bench_ = nullptr;
walk::Walk* Campaign::walk_ = nullptr;
CampaignRun* Campaign::run_ = nullptr;

TEST_F(Campaign, HealthyRunMeetsItsWalk) { EXPECT_THAT(run_->failed_when_healthy(), IsEmpty()); }

// The pull-up of 2.2 kohm has nothing to pull against: 5 V, above any reading of a thermistor.
TEST_F(Campaign, ControllerNoticesAnOpenThermistor) {
  const FaultResult result = Try("wire head_signal open");
  EXPECT_EQ(result.noticed_by, NoticedBy::kController);
  EXPECT_THAT(result.controller, Contains(HasSubstr("sensor_faults says 1, not 0")));
  EXPECT_THAT(result.checker, Contains("head_head_temperature"));
}

// A ratiometric sensor of 1000 ohm behind 30 ohm: 5 V * 1000 / 1030.4 = 4.852 V (0.2 ohm of the
// reference and 0.2 of wires and contacts included). 90 % is 0.82 of it, 3.979 V, and the
// controller's table makes (3.979 - 0.5) / 4 = 87.0 %. The walk allows 3 % of 100 %.
TEST_F(Campaign, NobodyNoticesAResistanceInTheFeedOfThePotentiometer) {
  const FaultResult result = Try("30 Ω extra resistance at contact CU.4");
  EXPECT_EQ(result.noticed_by, NoticedBy::kNobody);
  const report::Effect* throttle = EffectOn(result, "all.throttle");
  ASSERT_NE(throttle, nullptr);
  EXPECT_EQ(throttle->situation, "throttle_high");
  EXPECT_NEAR(throttle->healthy, 90, 0.5);  // the signal's step
  EXPECT_NEAR(throttle->faulty, 87, 0.5);
  EXPECT_NEAR(throttle->deviation, -3, 0.51);
}

// Ten times that: 0.82 * 5 V / 1.3 = 3.152 V is 66.3 %, far off the walk's 90 % +- 3 %.
TEST_F(Campaign, CheckerNoticesTenTimesThat) {
  const FaultResult result = Try("300 Ω extra resistance at contact CU.4");
  EXPECT_EQ(result.noticed_by, NoticedBy::kChecker);
  EXPECT_THAT(result.checker, Contains("throttle_throttle"));
}

// Four times 1500 rpm is below the display's warning at 14500, and the controller has no part in
// it.
TEST_F(Campaign, OnlyTheCheckerNoticesADisplayThatReadsFourTimesTheSpeed) {
  const FaultResult result = Try("all.engine_speed with the wrong scale", 4);
  EXPECT_EQ(result.noticed_by, NoticedBy::kChecker);
  EXPECT_THAT(result.checker, testing::ElementsAre("display_speed"));
  const report::Effect* shown = EffectOn(result, "wheel_shows.speed_shown");
  ASSERT_NE(shown, nullptr);
  EXPECT_NEAR(shown->healthy, 1500, 5);
  EXPECT_NEAR(shown->faulty, 6000, 20);
}

// The only message is gone: every gauge is stale.
TEST_F(Campaign, DisplayNoticesThatNothingComes) {
  const FaultResult result = Try("controller does not send all");
  EXPECT_EQ(result.noticed_by, NoticedBy::kDisplay);
  EXPECT_THAT(result.controller, IsEmpty());
  EXPECT_THAT(result.display, Contains(HasSubstr("speed_state says 2 (stale), not 0 (ok)")));
  EXPECT_TRUE(result.effects.at(0).missing);
}

// The one tooth that tells where the crank is, a tooth pitch (30 degrees) early: so is the spark,
// 18 degrees before top dead centre when healthy.
// No message tells of it; what the walk asks in degrees does.
TEST_F(Campaign, SparksComeEarlyWithTheReferenceWheelAndOnlyTheCheckerNotices) {
  const FaultResult result = Try("wheel reference mounted 30 crank degrees early");
  EXPECT_EQ(result.noticed_by, NoticedBy::kChecker);
  EXPECT_THAT(result.checker, Contains("fires_at"));
  const report::Effect* spark = EffectOn(result, "spark of cylinder 1");
  ASSERT_NE(spark, nullptr);
  EXPECT_NEAR(spark->healthy, -18, 1);
  EXPECT_NEAR(spark->faulty, -48, 1);
}

TEST_F(Campaign, AFaultGivesTheSameLineEachTime) {
  const FaultResult result = Try("wire head_signal open");
  EXPECT_EQ(report::FaultLine(result), report::FaultLine(run_->Try(result.index)));
  FaultResult back;
  ASSERT_TRUE(report::ReadFaultLine(report::FaultLine(result), back));
  EXPECT_EQ(report::FaultLine(result), report::FaultLine(back));
  EXPECT_FALSE(report::ReadFaultLine(report::FaultLine(result).substr(0, 60), back));
}

// Other noise is no difference, and a fault is one.
TEST_F(Campaign, TwoHealthyRunsDoNotDiffer) {
  const auto play = [&](std::uint64_t seed, std::vector<profile::Fault> faults) {
    profile::Scenario scenario = walk_->scenario;
    scenario.faults = std::move(faults);
    run::RunOptions options;
    options.seed = seed;
    run::Runner runner(*bench_, scenario, options);
    Reported reported(*bench_, scenario);
    runner.AddObserver(&reported);
    runner.Start();
    while (!runner.finished()) runner.RunTo(runner.NextDueNs());
    return reported;
  };
  const Reported healthy = play(1, {});
  const Differences none = Compare(walk_->scenario, healthy, play(2, {}));
  EXPECT_THAT(none.controller, IsEmpty());
  EXPECT_THAT(none.display, IsEmpty());
  EXPECT_THAT(none.effects, IsEmpty());
  const auto fault = run_->faults()[Try("wire head_signal open").index].faults;
  const Differences some = Compare(walk_->scenario, healthy, play(2, fault));
  EXPECT_THAT(some.controller, Not(IsEmpty()));
}

TEST(CampaignParts, EachFaultIsInOnePart) {
  std::multiset<std::size_t> all;
  for (std::size_t part = 1; part <= 8; ++part) {
    for (const std::size_t index : PartOf(101, part, 8)) all.insert(index);
  }
  ASSERT_EQ(all.size(), 101u);
  for (std::size_t i = 0; i < 101; ++i) EXPECT_EQ(all.count(i), 1u);
  EXPECT_THAT(PartOf(3, 5, 8), IsEmpty());
}

}  // namespace
}  // namespace drycrank::study
