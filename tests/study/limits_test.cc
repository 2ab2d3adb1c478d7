// SPDX-License-Identifier: Apache-2.0
//
// Protections tried on benches drawn by seeds and on the shipped one: what is told wrong is caught
// and measured as it was told, and nothing is said of what is right. What a protection should do is
// reckoned here, from the bench's numbers: the limit as written, the delay as written, and how long
// a controller that samples every 10 ms and fires at that speed can take to show it. SEEDS=500 in
// the environment draws as many sound benches instead of those of every day.
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>

#include "profile/load.h"
#include "profile/protection.h"
#include "profile/sensors.h"
#include "run/runner.h"
#include "study/try_limits.h"
#include "tests/study/drawn_limits.h"
#include "tests/support/told_protection.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

using support::ToldActs;
using support::ToldDelay;
using support::ToldLimit;

using profile::Bench;
using profile::Protection;
using profile::ProtectionAction;
using profile::fault::Told;
using report::LimitResult;
using testing::HasSubstr;
using testing::IsEmpty;

constexpr double kSampleMs = 10;

int Seeds(int usual) {
  const char* wanted = std::getenv("SEEDS");
  return wanted == nullptr ? usual : std::atoi(wanted);
}

Bench Shipped() {
  profile::LoadedBench loaded =
      profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/hill_climb.yaml");
  return std::move(*loaded.bench);
}

profile::Fault Telling(const Protection& p, Told told) {
  profile::Fault fault;
  fault.kind = std::move(told);
  fault.at = fault.name = p.name;
  return fault;
}

std::string Sentences(const LimitResult& result) {
  return fmt::format("{} | {}", fmt::join(result.failures, " "), fmt::join(result.not_shown, " "));
}

// How late the first thing can be seen that does not come, or a message that comes: two intervals
// of all cylinders, a message of 50 ms; a pump switches at once. A filter of 80 ms at most, of a
// value that goes three quarters of its way or less.
double LatestMs(const Bench& bench, const Protection& p, double rpm) {
  const double cycle_deg = bench.engine.strokes == 2 ? 360 : 720;
  const double interval_ms =
      cycle_deg / static_cast<double>(bench.engine.firing_order.size()) / (6 * rpm) * 1000;
  const double sign_ms = p.action == ProtectionAction::kLamp        ? 60
                         : p.action == ProtectionAction::kOutputOff ? 0
                                                                    : 2 * interval_ms;
  return 2 * kSampleMs + sign_ms + 80 * std::log(4.0) + 60;
}

LimitResult Try(const Bench& bench, int index, std::vector<profile::Fault> faults,
                std::uint64_t seed) {
  LimitOptions options;
  options.seed = seed;
  options.faults = std::move(faults);
  options.only = {index};
  options.with_broken_wires = false;
  return TryLimits(bench, options).results.at(0);
}

// Does it act where and when the bench says, by the numbers measured?
void ExpectSound(const Bench& bench, const LimitResult& result) {
  const Protection& p = Nth(bench.protections, result.index);
  EXPECT_THAT(result.failures, IsEmpty()) << p.name << ": " << Sentences(result);
  EXPECT_THAT(result.not_shown, IsEmpty()) << p.name << ": " << Sentences(result);
  ASSERT_TRUE(result.trips_at && result.released_at && result.within_ms) << p.name;
  EXPECT_NEAR(*result.trips_at, p.limit, 0.015 * std::abs(p.limit)) << p.name;
  EXPECT_NEAR(*result.released_at, p.release, 0.015 * std::abs(p.limit)) << p.name;
  EXPECT_GE(*result.within_ms, p.delay_ms - kSampleMs) << p.name;
  EXPECT_LE(*result.within_ms, p.delay_ms + LatestMs(bench, p, result.engine_rpm)) << p.name;
}

TEST(Limits, OfSoundBenchesNothingIsSaid) {
  int protections = 0, actions[5] = {};
  for (int seed = 1; seed <= Seeds(50); ++seed) {
    SCOPED_TRACE(fmt::format("seed {}", seed));
    const auto drawn = static_cast<std::uint64_t>(seed);
    const Bench bench = LoadLimitsBench(DrawLimitsBench(drawn));
    for (std::size_t i = 0; i < bench.protections.size(); ++i) {
      ExpectSound(bench, Try(bench, static_cast<int>(i), {}, drawn));
      ++actions[static_cast<int>(bench.protections[i].action)];
      ++protections;
    }
  }
  fmt::print("{} protections; by action {}\n", protections, fmt::join(actions, " "));
  for (const int of_action : actions) EXPECT_GT(of_action, 0);
}

// Each of four ways of being told wrong, of each protection of a drawn bench.
class ToldWrong : public testing::TestWithParam<int> {
 protected:
  ToldWrong() : bench_(LoadLimitsBench(DrawLimitsBench(seed()))) {}

  static std::uint64_t seed() { return static_cast<std::uint64_t>(GetParam()); }
  LimitResult With(int index, Told told) const {
    return Try(bench_, index, {Telling(Nth(bench_.protections, index), std::move(told))}, seed());
  }
  template <class Each>
  void ForEach(Each each) const {
    for (std::size_t i = 0; i < bench_.protections.size(); ++i) {
      SCOPED_TRACE(bench_.protections[i].name);
      each(static_cast<int>(i), bench_.protections[i]);
    }
  }

  const Bench bench_;
};

TEST_P(ToldWrong, DisabledDoesNotAct) {
  ForEach([&](int index, const Protection& /*p*/) {
    const LimitResult result = With(index, ToldActs(profile::fault::ToldToAct::kNever));
    EXPECT_EQ(result.outcome(), check::Outcome::kFailed);
    EXPECT_THAT(Sentences(result), HasSubstr("does not act when"));
    EXPECT_FALSE(result.trips_at);
  });
}

TEST_P(ToldWrong, InvertedActsWhileAllIsGood) {
  ForEach([&](int index, const Protection& /*p*/) {
    const LimitResult result = With(index, ToldActs(profile::fault::ToldToAct::kOtherWay));
    EXPECT_EQ(result.outcome(), check::Outcome::kFailed);
    EXPECT_THAT(Sentences(result), HasSubstr("It acts while"));
  });
}

// As late as it was told, to a sample and what is fired meanwhile.
TEST_P(ToldWrong, DelayedIsMeasured) {
  ForEach([&](int index, const Protection& p) {
    const double told_ms = 1.5 * p.delay_ms + 300;
    const LimitResult sound = Try(bench_, index, {}, seed());
    const LimitResult late = With(index, ToldDelay(told_ms));
    EXPECT_EQ(late.outcome(), check::Outcome::kFailed);
    EXPECT_THAT(Sentences(late), HasSubstr(" ms after "));
    ASSERT_TRUE(sound.within_ms && late.within_ms);
    EXPECT_NEAR(*late.within_ms - *sound.within_ms, told_ms - p.delay_ms,
                LatestMs(bench_, p, late.engine_rpm));
  });
}

// And sooner, where there is a delay that can be less.
TEST_P(ToldWrong, TooSoonIsCaught) {
  ForEach([&](int index, const Protection& p) {
    if (p.delay_ms < 800) return;
    const LimitResult soon = With(index, ToldDelay(0.5 * p.delay_ms));
    EXPECT_EQ(soon.outcome(), check::Outcome::kFailed);
    EXPECT_THAT(Sentences(soon), HasSubstr(" ms after "));
  });
}

// To either side, and measured to a third of what it is off.
TEST_P(ToldWrong, LimitOffByFivePercentIsMeasured) {
  ForEach([&](int index, const Protection& p) {
    for (const double factor : {0.95, 1.05}) {
      const double told = factor * p.limit;
      const LimitResult result = With(index, ToldLimit(told));
      EXPECT_EQ(result.outcome(), check::Outcome::kFailed) << factor;
      EXPECT_THAT(Sentences(result), HasSubstr("it should act at")) << factor;
      ASSERT_TRUE(result.trips_at) << factor << ": " << Sentences(result);
      EXPECT_NEAR(*result.trips_at, told, std::abs(told - p.limit) / 3) << factor;
    }
  });
}

INSTANTIATE_TEST_SUITE_P(OfDrawnBenches, ToldWrong, testing::Range(101, 109));

// ---- what the controller needs to see a value --------------------------------------------------

// Drawn benches whose first protection watches this.
std::vector<Bench> Watching(const std::string& channel, std::size_t count) {
  std::vector<Bench> found;
  for (std::uint64_t seed = 201; found.size() < count; ++seed) {
    Bench bench = LoadLimitsBench(DrawLimitsBench(seed));
    if (bench.protections[0].watches == channel) found.push_back(std::move(bench));
  }
  return found;
}

// A low-pass of seconds: a jump is seen after that, and is waited for.
TEST(LimitsAndSight, AFilterOfSecondsIsNoFault) {
  for (Bench& bench : Watching("pressure", 4)) {
    for (const double filter_ms : {2000.0, 6000.0}) {
      bench.controller->analog[0].filter_ms = filter_ms;
      const LimitResult sound = Try(bench, 0, {}, 1);
      EXPECT_THAT(sound.failures, IsEmpty()) << filter_ms << ": " << Sentences(sound);
      EXPECT_GE(*sound.within_ms, bench.protections[0].delay_ms);
      const double limit = bench.protections[0].limit;
      const LimitResult off = Try(bench, 0, {Telling(bench.protections[0], ToldLimit(1.05 * limit))}, 1);
      EXPECT_EQ(off.outcome(), check::Outcome::kFailed) << filter_ms;
    }
  }
}

// 5 to 20 Hz at the limit: a period is 50 to 200 ms, and two of them pass until a new one is whole.
TEST(LimitsAndSight, ASlowFrequencyIsNoFault) {
  for (Bench& bench : Watching("wheel", 4)) {
    auto& sensor = std::get<profile::FrequencySensor>(bench.sensors[2].model);
    auto& table = bench.controller->frequency[0].value_at_hz;
    const double hz_per_unit = 10 / bench.protections[0].limit;
    sensor.hz_per_unit = hz_per_unit;
    for (auto& [hz, value] : table) hz = value * hz_per_unit;
    const LimitResult sound = Try(bench, 0, {}, 1);
    EXPECT_THAT(sound.failures, IsEmpty()) << Sentences(sound);
    const double delay_ms = bench.protections[0].delay_ms;
    const LimitResult late =
        Try(bench, 0, {Telling(bench.protections[0], ToldDelay(1.5 * delay_ms + 600))}, 1);
    EXPECT_EQ(late.outcome(), check::Outcome::kFailed);
  }
}

// Some 7,000 r/min: two turns are 20 ms, two samples 20 ms, two intervals of four cylinders 9 ms.
TEST(LimitsAndSight, OfAFastEngineSixtyMsAreSeen) {
  Bench bench = Shipped();
  Protection& speed = bench.protections[2];
  ASSERT_EQ(speed.watches, "engine_speed");
  speed.delay_ms = speed.delay_tolerance_ms = 0;
  EXPECT_THAT(Try(bench, 2, {}, 1).failures, IsEmpty());
  EXPECT_EQ(Try(bench, 2, {Telling(speed, ToldDelay(60))}, 1).outcome(), check::Outcome::kFailed);
}

// So far off that it acts on what is good, from the first tooth on: no spark ever comes, and it is
// to blame, since farther from its limit they come.
TEST(LimitsAndSight, OneThatActsFromTheStartFails) {
  int tried = 0;
  for (Bench& bench : Watching("wheel", 6)) {
    Protection& p = bench.protections[0];
    if (p.side != profile::LimitSide::kAbove) continue;
    ++tried;
    bench.protections.resize(1);
    p.action = ProtectionAction::kSparkCut;
    p.delay_ms = p.delay_tolerance_ms = p.needs_above_rpm = 0;
    EXPECT_THAT(Try(bench, 0, {}, 1).failures, IsEmpty());
    const LimitResult off = Try(bench, 0, {Telling(p, ToldLimit(0.3 * p.limit))}, 1);
    EXPECT_EQ(off.outcome(), check::Outcome::kFailed) << Sentences(off);
    EXPECT_THAT(Sentences(off), HasSubstr("the engine does not run; at 0.0 km/h it does"));
  }
  EXPECT_GE(tried, 2);
}

// ---- one at fault beside others -----------------------------------------------------------------

// Of two that cut the sparks, one the other way round: that one fails, and the other is not blamed.
// The oil pressure's looks from 2500 r/min on, above which the coolant's is not tried: of that all
// is seen. Of the oil pressure's nothing is, while the coolant's looks from 2000 r/min on.
TEST(LimitsBesideOneAnother, OnlyTheOneThatActsTheOtherWayFails) {
  Bench bench = Shipped();
  Protection& coolant = bench.protections[1];
  ASSERT_EQ(bench.protections[0].action, ProtectionAction::kSparkCut);
  coolant.action = ProtectionAction::kSparkCut;
  LimitOptions options;
  options.with_broken_wires = false;
  EXPECT_FALSE(report::AnyFailed(TryLimits(bench, options)));
  for (const int culprit : {0, 1}) {
    options.faults = {
        Telling(Nth(bench.protections, culprit), ToldActs(profile::fault::ToldToAct::kOtherWay))};
    const report::Limits limits = TryLimits(bench, options);
    const LimitResult& other = Nth(limits.results, 1 - culprit);
    EXPECT_EQ(Nth(limits.results, culprit).outcome(), check::Outcome::kFailed);
    EXPECT_THAT(other.failures, IsEmpty());
    if (culprit == 0) continue;
    EXPECT_EQ(other.outcome(), check::Outcome::kNotObservable) << Sentences(other);
    EXPECT_THAT(Sentences(other),
                HasSubstr("coolant_hot acts while its value is good, and does the same"));
  }
}

// ---- the shipped bench ------------------------------------------------------------------------

TEST(LimitsOfTheShippedBench, AllActAsTheyShould) {
  const Bench bench = Shipped();
  const report::Limits limits = TryLimits(bench, {});
  ASSERT_EQ(limits.results.size(), 3u);
  for (const LimitResult& result : limits.results) ExpectSound(bench, result);
  EXPECT_FALSE(report::AnyFailed(limits));
  EXPECT_FALSE(report::AnyNotShown(limits));
}

// Oil pressure: the pin falls to 0 V, below 0.25 V; 100 ms later the controller goes on with 0 kPa,
// and 500 ms later the sparks end. Coolant: out of range either way, and it goes on with 80
// degrees. The crank: without edges nothing is injected; a coil that floats gives the same with one
// end at ground.
TEST(LimitsOfTheShippedBench, WithABrokenWireItSaysWhatHappens) {
  const Bench bench = Shipped();
  const report::Limits limits = TryLimits(bench, {});
  const LimitResult &oil = limits.results[0], &coolant = limits.results[1],
                    &speed = limits.results[2];
  EXPECT_TRUE(oil.open.acts_while_good && oil.shorted.acts_while_good);
  EXPECT_NEAR(oil.open.after_s, 0.6, 0.05);
  EXPECT_NEAR(oil.shorted.after_s, 0.6, 0.05);
  EXPECT_EQ(report::InWords(coolant.open), "no longer acts");
  EXPECT_EQ(report::InWords(coolant.shorted), "no longer acts");
  EXPECT_TRUE(speed.open.acts_while_good);
  EXPECT_EQ(report::InWords(speed.shorted), "acts as before");
}

TEST(LimitsOfTheShippedBench, WhatItMustDoBlindIsJudged) {
  Bench bench = Shipped();
  bench.protections[1].when_open = profile::WhenBlind::kActs;
  bench.protections[0].when_shorted = profile::WhenBlind::kStays;
  const report::Limits limits = TryLimits(bench, {});
  EXPECT_THAT(Sentences(limits.results[1]),
              HasSubstr("With its sensor's wire open it does not act; it must act."));
  EXPECT_THAT(Sentences(limits.results[0]),
              HasSubstr("With its sensor's wire shorted to ground it acts; it must not."));
}

profile::Drive Driving(int stimulus, profile::DriveKind kind, double to, double over_s = 0) {
  profile::Drive drive;
  drive.stimulus = stimulus;
  drive.kind = kind;
  drive.to = to;
  drive.over_s = over_s;
  return drive;
}

void AddStep(profile::Scenario& scenario, const std::string& name, double for_s,
             std::vector<profile::Drive> drives) {
  profile::Step& step = scenario.steps.emplace_back();
  step.name = name;
  step.for_s = for_s;
  step.drives = std::move(drives);
}

class SparkTimes : public run::RunObserver {
 public:
  void OnOutput(const standin::OutputEvent& event) override {
    if (event.kind == OutputKind::kCoil && event.on) begins_ns.push_back(event.t_ns);
  }
  std::vector<TimeNs> begins_ns;
};

// 3000 r/min, four cylinders: a coil every 10 ms. From 6 s on the oil pressure falls from 300 kPa
// by 100 kPa a second: it is 120 kPa at 7.8 s.
profile::Scenario OilFalls(const Bench& bench) {
  const int oil = profile::IndexOf(bench.stimuli, "oil_pressure");
  profile::Scenario scenario;
  AddStep(
      scenario, "crank", 2,
      {Driving(0, profile::DriveKind::kCrank, 250), Driving(oil, profile::DriveKind::kHold, 300)});
  AddStep(scenario, "run", 4, {Driving(0, profile::DriveKind::kRamp, 3000, 2)});
  AddStep(scenario, "fall", 4, {Driving(oil, profile::DriveKind::kRamp, 0, 3)});
  return scenario;
}

// The last coil is charged within 8.3 s and two samples, and not sooner than a coil's interval
// before.
TEST(LimitsOfTheShippedBench, TheStandInActsWhenReckonedByHand) {
  const Bench bench = Shipped();
  const profile::Scenario scenario = OilFalls(bench);
  run::Runner runner(bench, scenario, {});
  SparkTimes sparks;
  runner.AddObserver(&sparks);
  runner.Start();
  runner.RunTo(FromSeconds(10));
  ASSERT_FALSE(sparks.begins_ns.empty());
  EXPECT_GE(ToSeconds(sparks.begins_ns.back()), 8.3 - 0.010);
  EXPECT_LE(ToSeconds(sparks.begins_ns.back()), 8.3 + 0.020);
}

// "No coil for 100 ms" comes true 100 ms after the last coil has fired, 3 ms after it was charged:
// between 8.3 - 0.01 + 0.1 and 8.3 + 0.02 + 0.003 + 0.1 s, 6 s after the step's begin. Told never,
// it does not.
TEST(LimitsOfTheShippedBench, AScenarioCanRequireIt) {
  const Bench bench = Shipped();
  profile::Scenario scenario = OilFalls(bench);
  profile::Expectation& cut = scenario.expectations.emplace_back();
  cut.name = "cut_in_time";
  cut.during = {"fall"};
  auto& within = cut.kind.emplace<profile::expect::Within>();
  within.within_s = 3;
  within.condition.looks_at = profile::LooksAt::kAge;
  within.condition.line = {profile::Line::Kind::kCoil, 0};
  within.condition.compare = profile::Compare::kAbove;
  within.condition.value = 0.1;
  const auto verdict = [&] {
    run::Runner runner(bench, scenario, {});
    runner.Start();
    runner.RunTo(FromSeconds(10));
    return runner.checker().verdicts().at(0);
  };
  const check::Verdict sound = verdict();
  EXPECT_EQ(sound.outcome, check::Outcome::kMet);
  EXPECT_NEAR(sound.margin, 3 - (8.407 - 6), 0.017);
  scenario.faults = {Telling(bench.protections[0], ToldActs(profile::fault::ToldToAct::kNever))};
  EXPECT_EQ(verdict().outcome, check::Outcome::kFailed);
}

// ---- what cannot be shown ---------------------------------------------------------------------

TEST(LimitsNotShown, WhatAnotherDoesOnTheWayHidesIt) {
  Bench bench = Shipped();
  Protection second = bench.protections[0];
  second.name = "oil_pressure_lower";
  second.limit = second.release = 100;
  second.tolerance = 2;
  bench.protections.push_back(second);
  const LimitResult result = Try(bench, 3, {}, 1);
  EXPECT_EQ(result.outcome(), check::Outcome::kNotObservable);
  EXPECT_THAT(Sentences(result), HasSubstr("oil_pressure_low does the same on the way"));
}

TEST(LimitsNotShown, AStimulusThatDoesNotReachTheLimit) {
  Bench bench = Shipped();
  bench.stimuli[static_cast<std::size_t>(bench.protections[1].stimulus)].max = 117;
  const LimitResult result = Try(bench, 1, {}, 1);
  EXPECT_EQ(result.outcome(), check::Outcome::kNotObservable);
  EXPECT_THAT(Sentences(result), HasSubstr("coolant_temperature can be driven from -40 to 117"));
}

TEST(LimitsNotShown, AnEngineThatNeverFires) {
  const Bench bench = Shipped();
  profile::ParsedFault open = profile::ParseFault(bench, "{kind: open, at: ECU.12}");
  const LimitResult result = Try(bench, 0, {*open.fault}, 1);
  EXPECT_EQ(result.outcome(), check::Outcome::kNotObservable);
  EXPECT_THAT(Sentences(result), HasSubstr("No spark and no injection came at all"));
}

}  // namespace
}  // namespace drycrank::study
