// SPDX-License-Identifier: Apache-2.0
//
// What a scenario asks of outputs, and what a run hands them. A bench of one Hall sensor, one thermistor
// and a battery (tests/bad_profiles/base/wired.yaml), its crank wheel and coolant driven.
#include "run/output_feed.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "output/memory_output.h"
#include "profile/load.h"
#include "profile/triggers.h"
#include "run/output_wishes.h"
#include "run/runner.h"
#include "tests/bus/count_allocations.h"
#include "tests/profile/scratch.h"

namespace drycrank::run {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

constexpr const char* kBench = R"(
include: )" DRYCRANK_TESTS_DIR R"(/bad_profiles/base/wired.yaml
engine: {firing_order: [1], compression_ripple: RIPPLE}
drives:
  edges:
    kind: core
    line: /dev/ttyACM0
    channels: {CHANNEL: {pin: 0}}
)";

class OutputFeedTest : public profile::Scratch {
 protected:
  void Play(const std::string& steps, const std::string& faults = "",
            const std::string& channel = "crank", const std::string& ripple = "0") {
    std::string bench = kBench;
    const auto put = [&](const std::string& word, const std::string& text) {
      bench.replace(bench.find(word), word.size(), text);
    };
    put("RIPPLE", ripple);
    put("CHANNEL", channel);
    Write("bench.yaml", bench);
    loaded_ = profile::LoadScenario(Write("scenario.yaml",
                                          "kind: scenario\nname: s\nbench: bench.yaml\n"
                                          "steps:\n" +
                                              steps + (faults.empty() ? "" : "faults:\n" + faults)));
    ASSERT_EQ(Text(loaded_.problems), "");
  }
  std::string Problems() {
    std::string text = Text(OutputProblems(*loaded_.bench, *loaded_.scenario));
    const std::string folder = Path("");
    for (auto at = text.find(folder); at != std::string::npos; at = text.find(folder)) {
      text.erase(at, folder.size());
    }
    return text;
  }
  // All that is handed over until then.
  std::vector<output::Given> Given(TimeNs until_ns) {
    output::Handover handover;
    OutputFeed feed(*loaded_.bench, *loaded_.scenario, loaded_.bench->drives[0], handover);
    Runner runner(*loaded_.bench, *loaded_.scenario, {});
    runner.AddObserver(&feed);
    runner.Start();
    runner.RunTo(until_ns);
    std::vector<output::Given> given;
    for (; handover.Front() != nullptr; handover.Pop()) given.push_back(*handover.Front());
    EXPECT_EQ(handover.lost(), 0u);
    return given;
  }

  profile::LoadedScenario loaded_;
};

TEST_F(OutputFeedTest, WhatTheCoreGivesIsAllowed) {
  Play("  - {name: a, for_s: 1, drive: {engine_speed: 800}}\n"
       "  - {name: b, for_s: 1, drive: {engine_speed: {ramp: 3000}}}\n"
       "  - {name: c, for_s: 1, drive: {engine_speed: {crank: 200}}}\n",
       "  - {name: tooth, kind: tooth_missing, at: crank, tooth: 3}\n"
       "  - {name: gone, kind: not_fitted, at: crank, during: [b]}\n");
  EXPECT_EQ(Problems(), "");
}

TEST_F(OutputFeedTest, WhatItDoesNotGiveIsRefusedWhereItIsWritten) {
  Play("  - {name: a, for_s: 1, drive: {engine_speed: {crank: 200}}}\n"
       "  - {name: b, for_s: 1, drive: {engine_speed: {sine: 800, amplitude: 50, period_s: 1}}}\n",
       "  - {name: hum, kind: electrical_noise, at: crank, rate_hz: 50}\n"
       "  - {name: cut, kind: open, at: ECU.3}\n",
       "crank", "0.25");
  const std::string problems = Problems();
  EXPECT_THAT(problems, HasSubstr("scenario.yaml:5:"));
  EXPECT_THAT(problems, HasSubstr("does not give compression ripple"));
  EXPECT_THAT(problems, HasSubstr("scenario.yaml:6:"));
  EXPECT_THAT(problems, HasSubstr("does not give a speed that goes as a sine"));
  EXPECT_THAT(problems, HasSubstr("scenario.yaml:8:"));
  EXPECT_THAT(problems, HasSubstr("does not give electrical noise"));
  EXPECT_THAT(problems, HasSubstr("fault 'cut' is one of the harness"));
}

// From 800 to 3000 r/min in 10 ms: 220,000 r/min a second.
TEST_F(OutputFeedTest, AClimbThatIsTooSteepIsRefused) {
  Play("  - {name: a, for_s: 1, drive: {engine_speed: 800}}\n"
       "  - {name: b, for_s: 1, drive: {engine_speed: {ramp: 3000, over_s: 0.01}}}\n");
  EXPECT_THAT(Problems(), HasSubstr("220000 r/min in a second (it makes 200000, which is 0.011 s or more for "
                                    "these 2200 r/min)"));
  EXPECT_THAT(Problems(), testing::StartsWith("scenario.yaml:6:33: ")) << "where the ramp stands";
}

TEST_F(OutputFeedTest, AThermistorIsNoWheel) {
  Play("  - {name: a, for_s: 1, drive: {engine_speed: 800}}\n", "", "coolant");
  EXPECT_THAT(Problems(), HasSubstr("sensor 'coolant': an output of kind core does not give a resistance (it gives "
                                    "edges of a wheel); an output of kind potentiometer could"));
}

// Between 20 degC, the bench's own, and 100: r25 exp(beta (1/T - 1/298.15)), worked by hand: 12,555 and
// 684.9 ohm.
TEST_F(OutputFeedTest, ASensorIsAskedForWhatItsStimulusComesTo) {
  Play("  - {name: a, for_s: 1, drive: {coolant_temperature: 100}}\n", "", "coolant");
  const auto wishes = WishesOf(*loaded_.bench, *loaded_.scenario, loaded_.bench->drives[0]);
  ASSERT_EQ(wishes.size(), 1u);
  ASSERT_EQ(wishes[0].forms.size(), 1u);
  EXPECT_EQ(wishes[0].forms[0].form, output::Form::kResistance);
  EXPECT_NEAR(wishes[0].forms[0].least, 684.9, 1);
  EXPECT_NEAR(wishes[0].forms[0].most, 12'555, 10);
}

TEST_F(OutputFeedTest, MotionAndFaultsComeWithTheirTimes) {
  Play("  - {name: a, for_s: 1, drive: {engine_speed: 800}}\n"
       "  - {name: b, for_s: 1, drive: {engine_speed: {ramp: 3000}}}\n",
       "  - {name: tooth, kind: tooth_missing, at: crank, tooth: 3, from_s: 0.5, to_s: 1.5}\n"
       "  - {name: gone, kind: not_fitted, at: crank, from_s: 1.7}\n");
  std::vector<std::string> told;
  for (const output::Given& given : Given(2 * kNsPerS)) {
    std::string text = std::to_string(given.t_ns / kNsPerMs) + " ";
    if (const auto* motion = std::get_if<CrankMotion>(&given.state)) {
      EXPECT_EQ(given.channel, output::kAllChannels);
      text += motion->segment.kind == SegmentKind::kRamp ? "ramp" : "hold";
      text += " " + std::to_string(static_cast<int>(motion->segment.speed_rpm));
    }
    if (const auto* wheel = std::get_if<output::WheelState>(&given.state)) {
      EXPECT_EQ(given.channel, 0);
      text += wheel->pickup == output::WheelState::Pickup::kOff ? "off" : "on";
      if (wheel->gone[2]) text += " without 3";
    }
    told.push_back(text);
  }
  EXPECT_THAT(told, ElementsAre("0 on", "0 hold 800", "500 on without 3", "1000 ramp 800", "1500 on",
                                "1700 off"));
}

// A phaser that moves by 20 degrees in 0.4 s, half a degree in 10 ms, and stays there.
TEST_F(OutputFeedTest, APhaserIsFollowedOnItsWay) {
  Play("  - {name: a, for_s: 1, drive: {engine_speed: 800}}\n"
       "  - {name: b, for_s: 1, drive: {boost_pressure: {ramp: 20, over_s: 0.4}}}\n");
  loaded_.bench->triggers[0].advance_stimulus =
      profile::IndexOf(loaded_.bench->stimuli, "boost_pressure");
  double last_deg = 0;
  int told = 0;
  for (const output::Given& given : Given(2 * kNsPerS)) {
    const auto* wheel = std::get_if<output::WheelState>(&given.state);
    if (wheel == nullptr) continue;
    const double due_deg = std::clamp(50 * (ToSeconds(given.t_ns) - 1), 0.0, 20.0);
    EXPECT_NEAR(wheel->advance_deg, due_deg, 1e-9) << given.t_ns;
    last_deg = wheel->advance_deg;
    ++told;
  }
  EXPECT_GE(told, 40);
  EXPECT_EQ(last_deg, 20);
}

TEST_F(OutputFeedTest, ItTakesNoMemoryWhileTheRunGoesOn) {
  Play("  - {name: a, for_s: 10, drive: {engine_speed: 800}}\n");
  output::Handover handover;
  OutputFeed feed(*loaded_.bench, *loaded_.scenario, loaded_.bench->drives[0], handover);
  feed.OnStep(0, 0);
  const std::size_t before = bus::Allocations();
  for (TimeNs t_ns = 0; t_ns < kNsPerS; t_ns += 10 * kNsPerMs) {
    feed.OnMotion({t_ns, {}, {.speed_rpm = 800}});
    feed.OnSample(t_ns);
    feed.OnAdvance(0, ToSeconds(t_ns), t_ns);
  }
  EXPECT_EQ(bus::Allocations(), before);
  EXPECT_NE(handover.Front(), nullptr);
}

// The ring is full when its other end does not take: what is lost is counted.
TEST(Handover, CountsWhatFindsNoRoom) {
  output::Handover handover(2);
  for (int i = 0; i < 3; ++i) handover.Put({i, 0, Source{}});
  EXPECT_EQ(handover.lost(), 1u);
  EXPECT_EQ(handover.Front()->t_ns, 0);
  handover.Pop();
  handover.Put({3, 0, Source{}});
  handover.Pop();
  EXPECT_EQ(handover.Front()->t_ns, 3);
  handover.Pop();
  EXPECT_EQ(handover.Front(), nullptr);
}

}  // namespace
}  // namespace drycrank::run
