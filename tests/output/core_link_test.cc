// SPDX-License-Identifier: Apache-2.0
//
// A bench's wheels by the trigger core: what its pins show, against times worked by hand.
#include "output/core_link.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profile/triggers.h"
#include "tests/output/core_twin.h"

namespace drycrank::output {
namespace {

using testing::AllOf;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::SizeIs;

constexpr TimeNs kMs = kNsPerMs;

profile::Trigger Hall(std::vector<Tooth> teeth, profile::Shaft shaft, double offset_deg) {
  profile::Trigger trigger;
  trigger.shaft = shaft;
  trigger.wheel.teeth = std::move(teeth);
  trigger.offset_deg = offset_deg;
  trigger.pickup = profile::HallPickup();
  return trigger;
}

class CoreLinkTest : public testing::Test {
 protected:
  // A crank wheel with one tooth, a cam wheel with two.
  CoreLinkTest() {
    bench_.engine.firing_order = {1};
    bench_.triggers.push_back(Hall({{0, 90}}, profile::Shaft::kCrank, 30));
    bench_.triggers.push_back(Hall({{0, 10}, {90, 100}}, profile::Shaft::kCam, 60));
    core_.line = "/dev/twin";
    for (int i = 0; i < 2; ++i) {
      profile::out::Core::Channel channel;
      channel.index = i;
      channel.name = i == 0 ? "crank" : "cam";
      channel.pin = i + 1;
      core_.channels.push_back(channel);
    }
  }

  CoreLink& Link(double start_deg = 0) {
    link_.emplace(std::make_unique<TwinPort>(twin_), bench_, core_, start_deg,
                  WhoWaits{[this](const std::string& text) { said_.push_back(text); },
                                   [this] { return twin_.now >= stopped_; }});
    return *link_;
  }
  void Armed(double start_deg = 0) {
    Link(start_deg);
    ASSERT_EQ(link_->Open(), "");
    ASSERT_EQ(link_->Arm(), "");
    twin_.pins.clear();
  }
  void Turn(double rpm) { Give(CrankMotion{0, {}, {.speed_rpm = rpm}}, kAllChannels); }
  void Give(State state, int channel) { link_->Give({0, channel, std::move(state)}); }
  // The run goes on, and beats.
  void Pass(TimeNs ns) {
    for (const TimeNs end = twin_.now + ns; twin_.now < end;) {
      twin_.Pass(std::min(kMs, end - twin_.now));
      link_->Beat(0);
    }
  }
  // What is asked for now is in force so much later: edges are the board's up to there.
  TimeNs Begin() const { return twin_.now + core::kAhead; }
  // Times of a pin's edges after `from`, in us; the level falls where they are negative.
  std::vector<TimeNs> Edges(int pin, TimeNs from) const {
    std::vector<TimeNs> edges;
    for (const core::Pulse& pulse : twin_.Shown(pin)) {
      const TimeNs us = (pulse.t - from + 500) / 1000;
      if (pulse.t > from) edges.push_back(pulse.level ? us : -us);
    }
    return edges;
  }

  profile::Bench bench_;
  profile::out::Core core_;
  CoreTwin twin_;
  std::vector<std::string> said_;
  TimeNs stopped_ = kNever;
  std::optional<CoreLink> link_;
};

// 60 r/min: one turn a second, 1 ms is 0.36 degrees. Crank metal from 30 to 120 degrees: 83.333 to
// 333.333 ms. Cam, two turns of the crank for one: its 0 at 60 degrees, 166.667 ms; its 10 degrees are 20
// of the crank, 222.222 ms; its 90 are 180 more than its 0, 666.667 ms, and its 100 are 722.222 ms.
TEST_F(CoreLinkTest, WheelsComeWhereTheBenchHasThem) {
  Armed();
  Turn(60);
  const TimeNs begin = Begin();
  Pass(1000 * kMs);
  EXPECT_EQ(link_->failure(), "");
  EXPECT_THAT(Edges(1, begin), ElementsAre(83'333, -333'333));
  EXPECT_THAT(Edges(2, begin), ElementsAre(166'667, -222'222, 666'667, -722'222));
}

// The crank stands at 90 degrees at first: 60 degrees and their 166.667 ms less, and of the crank's own
// tooth only its end is ahead, 30 degrees on.
TEST_F(CoreLinkTest, TheCrankBeginsWhereTheScenarioSays) {
  Armed(90);
  Turn(60);
  const TimeNs begin = Begin();
  Pass(500 * kMs);
  EXPECT_THAT(Edges(1, begin), ElementsAre(-83'333));
  EXPECT_THAT(Edges(2, begin), ElementsAre(416'667, -472'222));
}

// From 60 to 120 r/min in one second it turns 1.5 times; the crank's tooth begins at 30 and 390 degrees:
// t + t^2 / 2 = 1/12 and 13/12 of a turn, t = sqrt(1 + 2 x) - 1: 80.123 and 779.513 ms. Its target then
// holds: 750 degrees at 1 + (25/12 - 1.5) / 2 = 1.291667 s.
TEST_F(CoreLinkTest, ARampIsClimbedAndHeld) {
  Armed();
  Turn(60);
  const TimeNs begin = Begin();
  Give(CrankMotion{0,
                   {},
                   {.kind = SegmentKind::kRamp, .speed_rpm = 60, .to_rpm = 120, .duration_s = 1}},
       kAllChannels);
  ASSERT_EQ(Begin(), begin) << "the twin's answers take no time";
  Pass(1400 * kMs);
  std::vector<TimeNs> rises = Edges(1, begin);
  std::erase_if(rises, [](TimeNs us) { return us < 0; });
  EXPECT_THAT(rises, ElementsAre(80'123, 779'513, 1'291'667));
}

TEST_F(CoreLinkTest, ABrokenToothLeavesItsEdgesOut) {
  Armed();
  WheelState state;
  state.gone.set(0);  // tooth 1 of the cam
  Give(state, 1);
  Turn(60);
  const TimeNs begin = Begin();
  Pass(1000 * kMs);
  EXPECT_THAT(Edges(2, begin), ElementsAre(666'667, -722'222));
  EXPECT_THAT(Edges(1, begin), SizeIs(2));
}

TEST_F(CoreLinkTest, APickupWithoutEdgesComesBack) {
  Armed();
  Turn(60);
  const TimeNs begin = Begin();
  Give(WheelState{.pickup = WheelState::Pickup::kSilent}, 1);
  Pass(500 * kMs);
  EXPECT_THAT(Edges(2, begin), IsEmpty());
  Give(WheelState{}, 1);
  Pass(500 * kMs);
  EXPECT_THAT(Edges(2, begin + kMs + 500 * kMs), ElementsAre(165'667, -221'222));
}

TEST_F(CoreLinkTest, AHeldOutputIsLowOrHigh) {
  Armed();
  Give(WheelState{.pickup = WheelState::Pickup::kOn}, 0);
  EXPECT_TRUE(twin_.pins.back().level);
  Give(WheelState{.pickup = WheelState::Pickup::kOff}, 0);
  EXPECT_FALSE(twin_.pins.back().level);
  EXPECT_EQ(twin_.pins.back().channel, 1);
}

// Edges come 18 degrees, 50 ms, earlier.
TEST_F(CoreLinkTest, AnAdvancedCamIsEarlierAndALateWheelLater) {
  Armed();
  Give(WheelState{.advance_deg = 18}, 1);
  Give(WheelState{.late_deg = 18}, 0);
  Turn(60);
  const TimeNs begin = Begin();
  Pass(500 * kMs);
  EXPECT_THAT(Edges(2, begin), ElementsAre(116'667, -172'222));
  EXPECT_THAT(Edges(1, begin), ElementsAre(133'333, -383'333));
}

// One that is high at a tooth conducts in the air: level 1 there.
TEST_F(CoreLinkTest, AHallSensorThatIsHighAtAToothIsTheOtherWayRound) {
  std::get<profile::HallPickup>(bench_.triggers[0].pickup).low_at_tooth = false;
  Armed();
  Turn(60);
  const TimeNs begin = Begin();
  Pass(500 * kMs);
  EXPECT_THAT(Edges(1, begin), ElementsAre(-83'333, 333'333));
  Give(WheelState{.inverted = true}, 0);
  EXPECT_FALSE(twin_.pins.back().level) << "turned round again: no metal, no current";
}

// A coil falls through zero at its tooth's centre, 45 degrees behind its begin: at 75, 208.333 ms. It is
// positive from 45 degrees before the begin on: at -15, which is 345, 958.333 ms.
TEST_F(CoreLinkTest, ACoilFallsAtTheCentreOfItsTooth) {
  bench_.triggers[0].pickup = profile::VariableReluctancePickup();
  Armed();
  Turn(60);
  const TimeNs begin = Begin();
  Pass(1000 * kMs);
  EXPECT_THAT(Edges(1, begin), ElementsAre(-208'333, 958'333));
}

TEST_F(CoreLinkTest, ItIsSafeWhenDisarmedAndWhenThePcIsGone) {
  core_.channels[0].safe_level = 1;
  Armed();
  Turn(60);
  Pass(100 * kMs);
  const std::size_t before = twin_.safe.size();
  link_->Disarm();
  EXPECT_EQ(twin_.safe.size(), before + 1);
  EXPECT_EQ(twin_.safe.back(), 2u) << "pin 1 is high, all others low";

  Armed();
  Turn(60);
  const std::size_t armed = twin_.safe.size();
  twin_.Pass(299 * kMs);  // nobody beats any more; 300 ms are said
  EXPECT_EQ(twin_.safe.size(), armed);
  twin_.Pass(52 * kMs);  // the last beat was up to 50 ms old
  EXPECT_EQ(twin_.safe.size(), armed + 1);
  link_->Beat(0);
  EXPECT_THAT(link_->failure(), HasSubstr("missed us"));
}

// Killed, and started again: the core's heartbeats of the time between are still on the line.
TEST_F(CoreLinkTest, WhatTheCoreSaidBeforeIsOld) {
  Armed();
  const std::size_t before = twin_.safe.size();
  twin_.Pass(500 * kMs);
  ASSERT_EQ(twin_.safe.size(), before + 1);
  Armed();
  link_->Beat(0);
  EXPECT_EQ(link_->failure(), "");
}

// As a board does that lost its supply for a moment: its heartbeat comes, and says what it is (CiA 301:
// 127 pre-operational, 0 boot-up). What is judged from there on is worth nothing.
TEST_F(CoreLinkTest, ACoreThatSaysThatItIsNotArmedIsAFailure) {
  for (const std::uint8_t said : std::initializer_list<std::uint8_t>{127, 0, 77}) {
    Armed();
    Turn(60);
    Pass(100 * kMs);
    ASSERT_EQ(link_->failure(), "");
    core::CoreFrame beat;
    beat.id = 0x705;
    beat.length = 1;
    beat.data[0] = said;
    std::uint8_t bytes[core::kMostLine];
    twin_.to_pc.insert(twin_.to_pc.end(), bytes, bytes + core::Line(beat, bytes));
    const std::size_t before = twin_.safe.size();
    link_->Beat(0);
    EXPECT_THAT(link_->failure(), HasSubstr("not armed any more")) << int{said};
    EXPECT_EQ(twin_.safe.size(), before + 1);
  }
}

TEST_F(CoreLinkTest, ACoreThatAnotherHasDisarmedIsAFailure) {
  Armed();
  CoreLine other(std::make_unique<TwinPort>(twin_), core_);
  ASSERT_EQ(other.Open(), "");
  ASSERT_EQ(other.Write(0x2000, 1, 0), "");
  Pass(100 * kMs);
  EXPECT_THAT(link_->failure(), HasSubstr("not armed any more"));
}

TEST_F(CoreLinkTest, ACoreThatFallsSilentIsAFailure) {
  Armed();
  Turn(60);
  Pass(100 * kMs);
  twin_.dead = true;
  Pass(290 * kMs);
  EXPECT_EQ(link_->failure(), "");
  Pass(100 * kMs);
  EXPECT_THAT(link_->failure(), HasSubstr("silent for 300 ms"));
}

TEST_F(CoreLinkTest, ALineThatIsGoneIsAFailure) {
  Armed();
  twin_.cut_off = true;
  link_->Beat(0);
  EXPECT_THAT(link_->failure(), HasSubstr("the line is gone"));
  EXPECT_THAT(Link().Open(), HasSubstr("it is not there"));
}

TEST_F(CoreLinkTest, WhoArmsItIsToldHowLongItGoesOnAlone) {
  core_.missed_ms = 60'000;
  EXPECT_THAT(Link().Description(), HasSubstr("safe 60000 ms after this computer falls silent"));
}

// 2 s are a limit of ours.
TEST_F(CoreLinkTest, WhoArmsItIsWarnedOfOneThatGoesOnForLong) {
  core_.missed_ms = 2000;
  EXPECT_THAT(Link().Description(), Not(HasSubstr("CAUTION")));
  core_.missed_ms = 60'000;
  EXPECT_THAT(Link().Description(), HasSubstr("CAUTION: should this computer die, the pins go on for 60 s"));
}

// Both ways: the core is told to say 50 ms, and hears us as often; gone it is noticed in a second.
TEST_F(CoreLinkTest, ADeadLineIsNoticedSoonHoweverLongTheCoreWaits) {
  core_.missed_ms = 60'000;
  Armed();
  Pass(1000 * kMs);
  ASSERT_GE(twin_.beats.size(), 20u);
  for (std::size_t i = 2; i < twin_.beats.size(); ++i) {
    EXPECT_LE(twin_.beats[i] - twin_.beats[i - 1], 51 * kMs);
  }
  CoreLine other(std::make_unique<TwinPort>(twin_), core_);
  ASSERT_EQ(other.Open(), "");
  EXPECT_EQ(other.Read(0x1017, 0), 50);
  Pass(100 * kMs);
  ASSERT_EQ(link_->failure(), "");
  twin_.dead = true;
  Pass(1100 * kMs);
  EXPECT_THAT(link_->failure(), HasSubstr("silent for 1000 ms"));
}

TEST_F(CoreLinkTest, ItsTimeForAnAnswerIsMeasured) {
  twin_.answers_after = 3 * kMs;
  ASSERT_EQ(Link().Open(), "");
  EXPECT_GE(link_->RequestNs(), 3 * kMs);
  EXPECT_LE(link_->RequestNs(), 4 * kMs);
  twin_.answers_after = 0;
  ASSERT_EQ(Link().Open(), "");
  EXPECT_EQ(link_->RequestNs(), 0);
}

// Two wheels with three teeth are 2 * 16 + 2 * 3 entries; of 150 ms each they take 5.7 s.
TEST_F(CoreLinkTest, ASlowLineIsSpokenOfOnce) {
  twin_.answers_after = 150 * kMs;
  ASSERT_EQ(Link().Open(), "");
  EXPECT_THAT(said_, ElementsAre(AllOf(HasSubstr("a slow line, 150 ms"), HasSubstr("about 5 s more"))));
}

TEST_F(CoreLinkTest, AStopEndsTheSetUpAndNothingIsArmed) {
  twin_.answers_after = 150 * kMs;
  stopped_ = 500 * kMs;
  EXPECT_THAT(Link().Open(), HasSubstr("stopped while it was set up"));
  EXPECT_LE(twin_.now, 502 * kMs);
}

// Armed, what is to be said is said: the disarm above all.
TEST_F(CoreLinkTest, AStopOfAnArmedCoreDisarmsIt) {
  Armed();
  Turn(60);
  stopped_ = 0;
  const std::size_t before = twin_.safe.size();
  link_->Disarm();
  EXPECT_EQ(link_->failure(), "");
  EXPECT_EQ(twin_.safe.size(), before + 1);
}

TEST_F(CoreLinkTest, NobodyThereIsSaidSo) {
  twin_.dead = true;
  EXPECT_THAT(Link().Open(), AllOf(HasSubstr("node 5 does not answer"), HasSubstr("baud")));
  EXPECT_EQ(twin_.now, 5000 * kMs);
}

// Opening a port starts many boards anew, for 0.5 to 2 s (common practice, no source); what was sent
// meanwhile is lost.
TEST_F(CoreLinkTest, ABoardThatStartsAnewIsWaitedForAndThatIsSaid) {
  twin_.deaf_until = 2000 * kMs;
  Link();
  EXPECT_THAT(said_, IsEmpty());
  EXPECT_EQ(link_->Open(), "");
  EXPECT_THAT(said_, ElementsAre(AllOf(HasSubstr("/dev/twin"), HasSubstr("starts anew"))));
  EXPECT_LT(twin_.now, 2600 * kMs);
  EXPECT_EQ(link_->Arm(), "");
}

TEST_F(CoreLinkTest, ABoardThatAnswersAtOnceIsNotSpokenOf) {
  EXPECT_EQ(Link().Open(), "");
  EXPECT_THAT(said_, IsEmpty());
}

// Once it has answered, it is waited for no longer than it would wait for us; and the line was right.
TEST_F(CoreLinkTest, OneThatAnswersNoMoreIsNotTakenForAWrongLine) {
  Armed();
  twin_.dead = true;
  const TimeNs from = twin_.now;
  Turn(60);
  EXPECT_THAT(link_->failure(), AllOf(HasSubstr("answers no more"), Not(HasSubstr("baud"))));
  EXPECT_LE(twin_.now - from, 700 * kMs);
}

// It did as it was told, and only its answer was lost: nobody will drive it, so it is not left armed.
TEST_F(CoreLinkTest, ACoreWhoseAnswerToArmingIsLostIsDisarmed) {
  ASSERT_EQ(Link().Open(), "");
  twin_.mute = true;
  const std::size_t before = twin_.safe.size();
  EXPECT_THAT(link_->Arm(), HasSubstr("answers no more"));
  EXPECT_GT(twin_.safe.size(), before);
}

TEST_F(CoreLinkTest, AnEndThatItDoesNotConfirmIsAFailure) {
  Armed();
  Turn(600);
  twin_.mute = true;
  link_->Disarm();
  EXPECT_THAT(link_->failure(), AllOf(HasSubstr("has not confirmed that its pins are safe"),
                                      HasSubstr("take its supply off")));
}

TEST_F(CoreLinkTest, AnEndThatItConfirmsIsNone) {
  Armed();
  Turn(600);
  link_->Disarm();
  EXPECT_EQ(link_->failure(), "");
}

TEST_F(CoreLinkTest, WhatItCannotTurnMakesItSafe) {
  Armed();
  const std::size_t before = twin_.safe.size();
  Give(CrankMotion{0, {}, {.kind = SegmentKind::kSine, .speed_rpm = 1000, .amplitude_rpm = 50}},
       kAllChannels);
  EXPECT_THAT(link_->failure(), HasSubstr("cannot turn so"));
  EXPECT_EQ(twin_.safe.size(), before + 1);
}

// It has turned before: armed anew, its zero is where it stands now.
TEST_F(CoreLinkTest, ArmedAnewItBeginsAtZero) {
  Armed();
  Turn(60);
  Pass(200 * kMs);
  link_->Disarm();
  Armed();
  Turn(60);
  const TimeNs begin = Begin();
  Pass(300 * kMs);
  EXPECT_THAT(Edges(1, begin), ElementsAre(83'333));
}

TEST_F(CoreLinkTest, NothingMovesBeforeItIsArmed) {
  EXPECT_EQ(Link().Open(), "");
  const std::size_t pins = twin_.pins.size();
  Turn(60);
  Give(WheelState{.pickup = WheelState::Pickup::kOn}, 0);
  Pass(1000 * kMs);
  EXPECT_EQ(twin_.pins.size(), pins);
}

}  // namespace
}  // namespace drycrank::output
