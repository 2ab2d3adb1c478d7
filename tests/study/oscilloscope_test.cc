// SPDX-License-Identifier: Apache-2.0
#include "study/oscilloscope.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "study/play.h"
#include "tests/run/loaded.h"
#include "types/clock.h"

namespace drycrank::study {
namespace {

using testing::Pair;

// 5 V until 3 ms, then 0 V; the window ends before that, though the run has gone on.
TEST(ScopeLine, ALevelIsHeldToTheEndOfTheWindow) {
  const std::deque<Wave> pieces = {
      {0, kNever, 0, 0, 0}, {1 * kNsPerMs, kNever, 5, 5, 0}, {3 * kNsPerMs, kNever, 0, 0, 0}};
  const auto points = LinePoints(pieces, {0, 2 * kNsPerMs});
  ASSERT_FALSE(points.empty());
  EXPECT_THAT(points.front(), Pair(0, 0.0));
  EXPECT_THAT(points.back(), Pair(2 * kNsPerMs, 5.0));
}

// The twin: with the edge inside, it is there.
TEST(ScopeLine, AnEdgeInsideTheWindowIsDrawn) {
  const std::deque<Wave> pieces = {{0, kNever, 5, 5, 0}, {3 * kNsPerMs, kNever, 0, 0, 0}};
  const auto points = LinePoints(pieces, {0, 4 * kNsPerMs});
  EXPECT_THAT(points.back(), Pair(4 * kNsPerMs, 0.0));
}

// The pictures of a shipped hill-climb scenario. It stands for 0.8 s, is then cranked at 220 r/min
// with the crank at 0 degrees, tooth 11 of 60 under the sensor.
class Pictures : public testing::Test, public run::RunObserver {
 protected:
  // engine_fast, 0x120: the lower half of byte 2 is the state, 3 is synchronised.
  void OnFrame(const bus::TimedFrame& frame) override {
    if (frame.frame.id == 0x120 && (frame.frame.data[2] & 0xF) == 3) {
      first_ns_ = std::min(first_ns_, frame.t_ns);
    }
  }
  void Play(const std::string& name) {
    loaded_ = run::Shipped("hill_climb/" + name);
    loaded_.scenario->steps.resize(2);
    loaded_.scenario->expectations.clear();
    VirtualClock clock;
    PlayOptions options;
    options.clock = &clock;
    options.observers = {this};
    pictures_ = study::Play(*loaded_.bench, *loaded_.scenario, options).report.pictures;
  }
  // Crank, then cam.
  const report::ScopeChannel& CamVolts(std::size_t picture) {
    return pictures_[picture].channels.at(1);
  }
  static std::pair<double, double> Range(const report::ScopeChannel& channel) {
    std::pair<double, double> range{1e9, -1e9};
    for (const auto& [t_ns, volts] : channel.points) {
      range = {std::min(range.first, volts), std::max(range.second, volts)};
    }
    return range;
  }

  profile::LoadedScenario loaded_;
  std::vector<report::ScopePicture> pictures_;
  TimeNs first_ns_ = kNever;  // the bus says so
};

// From 600 ms before to 250 ms after; the state is in the next frame of the 10 ms message.
TEST_F(Pictures, AHealthyRunShowsItsFirstSynchronisation) {
  Play("healthy");
  ASSERT_EQ(pictures_.size(), 1u);
  ASSERT_NE(first_ns_, kNever);
  const TimeNs mark_ns = pictures_[0].begin_ns + 600 * kNsPerMs;
  EXPECT_LE(mark_ns, first_ns_);
  EXPECT_LE(first_ns_ - mark_ns, 11 * kNsPerMs);
  EXPECT_EQ(pictures_[0].title,
            fmt::format("Crank and cam around synchronisation, which was at {:.3f} s",
                        ToSeconds(mark_ns)));
  // The step ends with the condition, the run with the step: nothing of the 250 ms after.
  EXPECT_LE(pictures_[0].end_ns, mark_ns + 250 * kNsPerMs);
  EXPECT_GE(pictures_[0].end_ns, mark_ns);
}

// Never synchronised: the 850 ms up to 1.5 s after the first tooth, which comes within one pitch of
// 6 degrees, 4.5 ms at 220 r/min (more at the ripple's slow end), and the 10 ms sample after that.
TEST_F(Pictures, WithCamLeadsSwappedTheyShowACertainTimeAfterTheFirstTooth) {
  Play("cam_leads_swapped");
  ASSERT_EQ(pictures_.size(), 2u);
  EXPECT_EQ(pictures_[0].title, "Crank and cam signals");
  EXPECT_EQ(first_ns_, kNever);
  EXPECT_GE(pictures_[0].end_ns, 2300 * kNsPerMs);
  EXPECT_LE(pictures_[0].end_ns, 2320 * kNsPerMs);
  EXPECT_EQ(pictures_[0].end_ns - pictures_[0].begin_ns, 850 * kNsPerMs);
}

// The README's sentence: never above 0.72 V, so no edge. By hand: the pin of the sensor's ground
// hangs on both pull-ups, (13.8 V - 0.7 V) / 1.5 kohm and (5 V - 0.7 V) / 2.2 kohm, 10.7 mA through
// the reverse diode, 0.7 V and 1 ohm, and some 0.2 ohm of wire: 0.713 V. The healthy bench beside
// it shows the same time: from below 1.5 V to the 5 V of the pull-up.
TEST_F(Pictures, WithCamLeadsSwappedTheCamIsFlatAndItsTwinIsNot) {
  Play("cam_leads_swapped");
  ASSERT_EQ(pictures_.size(), 2u);
  ASSERT_FALSE(CamVolts(0).points.empty());
  EXPECT_LE(Range(CamVolts(0)).second, 0.72);
  EXPECT_GE(Range(CamVolts(0)).first, 0);
  EXPECT_EQ(pictures_[1].begin_ns, pictures_[0].begin_ns);
  EXPECT_EQ(pictures_[1].end_ns, pictures_[0].end_ns);
  EXPECT_LT(Range(CamVolts(1)).first, 1.5);
  EXPECT_NEAR(Range(CamVolts(1)).second, 5, 0.1);
  // And the crank is there in both.
  EXPECT_GT(pictures_[0].channels.at(0).points.size(), 2 * 58 * 3.0);
  EXPECT_EQ(Range(pictures_[0].channels.at(0)), Range(pictures_[1].channels.at(0)));
}

}  // namespace
}  // namespace drycrank::study
