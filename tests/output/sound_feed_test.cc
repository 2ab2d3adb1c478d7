// SPDX-License-Identifier: Apache-2.0
#include "output/sound_feed.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "tests/output/crystal_port.h"

namespace drycrank::output {
namespace {

using testing::HasSubstr;

constexpr int kRate = 48'000;

class Feed : public testing::Test {
 protected:
  Feed() {
    EXPECT_EQ(feed_.Open(), "");
    EXPECT_EQ(feed_.Start(), "");
    feed_.stream().Add(0, {0, kNever, 3, 3, 0});
  }
  void BeatTo(TimeNs t_ns) {
    for (; port_.now_ns < t_ns; port_.now_ns += kNsPerMs) feed_.Beat(port_.now_ns);
  }

  CrystalPort port_{kRate * (1 - 80e-6)};
  SoundFeed feed_{port_, {.rate_hz = kRate, .channels = {CardChannel{.full_scale_v = 6}}}};
};

TEST_F(Feed, KeepsTheCardGoingAndSaysHowItsClockIsOff) {
  BeatTo(30 * kNsPerS);
  EXPECT_EQ(port_.starts, 1);
  EXPECT_EQ(port_.heard.back(), 0.5F);
  // 80 ppm slow, known to a frame a beat: within 1 ppm.
  const double ppm = *feed_.stream().report().error_ppm;
  EXPECT_NEAR(ppm, -80, 1);
  EXPECT_THAT(feed_.Report(), HasSubstr(" ppm slow; 0 underruns, the run late 0 times"));
}

// A card of exactly its rate that begins to play 2 ms after it was started, as one does that waits until it is
// half full: 100 Hz are 480 frames each, from the first on. 10 ppm of 1.5 s are 0.7 frames; the line between two
// samples is off by less than 0.1 of one.
TEST(FeedOfAnExactCard, ItsFirstSecondsAreOfItsRate) {
  CrystalPort port{kRate};
  port.begins_after_ns = 2 * kNsPerMs;
  SoundFeed feed(port, {.rate_hz = kRate, .channels = {CardChannel{.full_scale_v = 6}}});
  ASSERT_EQ(feed.Open(), "");
  ASSERT_EQ(feed.Start(), "");
  int halves = 0;
  for (; port.now_ns < 2 * kNsPerS; port.now_ns += kNsPerMs) {
    for (; halves * 5 * kNsPerMs < port.now_ns + 5 * kNsPerMs; ++halves) {
      const double volts = halves % 2 == 0 ? 3 : -3;
      feed.stream().Add(0, {halves * 5 * kNsPerMs, kNever, volts, volts, 0});
    }
    feed.Beat(port.now_ns);
  }
  std::vector<double> ups;
  for (std::size_t i = 1; i < port.heard.size(); ++i) {
    const double a = port.heard[i - 1], b = port.heard[i];
    if (a < 0 && b >= 0) ups.push_back(static_cast<double>(i - 1) + a / (a - b));
  }
  ASSERT_GT(ups.size(), 170U);
  EXPECT_NEAR(ups[155] - ups[5], 150 * 480, 0.7);
}

// 100 ms of latency are a buffer of 50 ms: what comes 60 ms later finds it dry.
TEST_F(Feed, ACardThatRanDryIsStartedAnewInSilence) {
  BeatTo(10 * kNsPerS);
  port_.now_ns += 60 * kNsPerMs;
  const std::size_t before = port_.heard.size();
  BeatTo(12 * kNsPerS);
  EXPECT_EQ(port_.starts, 2);
  EXPECT_THAT(feed_.Report(), HasSubstr("1 underrun,"));
  const auto loud = std::find(port_.heard.begin() + static_cast<std::ptrdiff_t>(before),
                              port_.heard.end(), 0.5F);
  ASSERT_NE(loud, port_.heard.end());
  EXPECT_NEAR(static_cast<double>(loud - port_.heard.begin()) - static_cast<double>(before),
              kRate / 2.0, kRate / 500.0);
}

TEST_F(Feed, ABeatThatIsLateByLessIsNotHeard) {
  BeatTo(10 * kNsPerS);
  port_.now_ns += 40 * kNsPerMs;
  BeatTo(12 * kNsPerS);
  EXPECT_EQ(port_.starts, 1);
  EXPECT_THAT(feed_.Report(), HasSubstr("0 underruns"));
}

TEST_F(Feed, ACardThatIsGoneIsAFailure) {
  BeatTo(kNsPerS);
  port_.PullOut();
  BeatTo(2 * kNsPerS);
  EXPECT_THAT(feed_.failure(), HasSubstr("No such device"));
}

TEST_F(Feed, StoppedItStandsStill) {
  BeatTo(kNsPerS);
  feed_.Stop();
  feed_.Stop();
  EXPECT_FALSE(port_.is_running());
  const std::size_t before = port_.heard.size();
  BeatTo(2 * kNsPerS);
  EXPECT_EQ(port_.heard.size(), before);
}

TEST_F(Feed, ADeviceThatTakesAllAtOnceIsGivenNoMoreThanACardWouldPlay) {
  port_.swallows = true;
  BeatTo(10 * kNsPerS);
  EXPECT_LT(static_cast<double>(port_.heard.size()), 10.1 * kRate);
  EXPECT_THAT(feed_.Report(), HasSubstr("keeps no time of its own"));
}

// All of the buffer is gone at once, 300 ms of it: that is no time that has passed.
TEST(FeedOfNoCard, ALongBufferThatIsTakenAtOnceIsNoUnderrun) {
  CrystalPort port(kRate);
  port.swallows = true;
  SoundFeed feed(port, {.rate_hz = kRate,
                        .channels = {CardChannel{.full_scale_v = 6}},
                        .latency_ns = 600 * kNsPerMs});
  ASSERT_EQ(feed.Open(), "");
  ASSERT_EQ(feed.Start(), "");
  feed.stream().Add(0, {0, kNever, 3, 3, 0});
  for (; port.now_ns < 10 * kNsPerS; port.now_ns += kNsPerMs) {
    if (port.now_ns % kNsPerS > 45 * kNsPerMs) feed.Beat(port.now_ns);  // and late, now and then
  }
  EXPECT_THAT(feed.Report(), HasSubstr("keeps no time of its own"));
  EXPECT_THAT(feed.Report(), HasSubstr(" 0 underruns"));
}

}  // namespace
}  // namespace drycrank::output
