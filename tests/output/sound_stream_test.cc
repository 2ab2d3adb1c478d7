// SPDX-License-Identifier: Apache-2.0
//
// A run's waves through a card whose clock is not the computer's: when each edge is heard, by the
// card's own samples and its true rate, which the stream is not told.
#include "output/sound_stream.h"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "tests/bus/count_allocations.h"
#include "tests/output/invented_card.h"

namespace drycrank::output {
namespace {

constexpr int kRate = 48'000;
constexpr TimeNs kHalfNs = 5 * kNsPerMs;  // a wave of 100 Hz: up at each whole period

class Sound : public testing::Test {
 protected:
  static SoundFormat Format() {
    SoundFormat format{.rate_hz = kRate, .channels = {CardChannel{.full_scale_v = 10}}};
    return format;
  }
  // The square wave is known a little further than now, as a run has it.
  void PlayTo(TimeNs t_ns) {
    card_.PlayTo(t_ns, stream_, [this](TimeNs now_ns) {
      if (now_ns < stopped_ns_) Say(now_ns + kHalfNs);
    });
  }
  void Say(TimeNs t_ns) {
    for (; next_ns_ <= t_ns; next_ns_ += kHalfNs) {
      const double volts = next_ns_ / kHalfNs % 2 == 0 ? 5 : -5;
      stream_.Add(0, {next_ns_, kNever, volts, volts, 0});
    }
    stream_.Know(t_ns);
  }
  // When the wave goes up through 0 V, between samples by the line.
  std::vector<double> UpsMs(TimeNs from_ns, TimeNs to_ns) const {
    std::vector<double> ups;
    const std::vector<float>& samples = card_.first();
    for (std::size_t i = 1; i < samples.size(); ++i) {
      const double a = samples[i - 1], b = samples[i];
      if (!(a < 0 && b >= 0)) continue;
      const TimeNs at_ns = card_.HeardNs(static_cast<double>(i - 1) + a / (a - b));
      if (at_ns >= from_ns && at_ns < to_ns) ups.push_back(ToMs(at_ns));
    }
    return ups;
  }

  InventedCard card_{kRate, 137};
  SoundStream stream_{Format()};
  TimeNs next_ns_ = 0, stopped_ns_ = kNever;
};

// Up at each whole 10 ms of the run, and 100 ms later at the card.
TEST_F(Sound, EachEdgeIsHeardAtItsInstantByTheComputersClock) {
  PlayTo(40 * kNsPerS);
  const auto ups = UpsMs(20 * kNsPerS, 39 * kNsPerS);
  ASSERT_EQ(ups.size(), 1900U);
  // The card's word is off by 0.58 ms (deviation), 200 of it a second: 0.05 ms of the line through them.
  for (const double up : ups) EXPECT_NEAR(std::remainder(up, 10), 0, 0.15);
}

TEST_F(Sound, TheCardsErrorIsMeasured) {
  EXPECT_EQ(stream_.report().error_ppm, std::nullopt);
  PlayTo(40 * kNsPerS);
  ASSERT_TRUE(stream_.report().error_ppm);
  EXPECT_NEAR(*stream_.report().error_ppm, 137, 3);
  EXPECT_EQ(stream_.report().underruns, 0U);
  EXPECT_EQ(stream_.report().late, 0U);
  EXPECT_LT(stream_.report().worst_off_ns, 150 * kNsPerUs);
}

// Without the measured rate 40 s would be off by 137e-6 * 40 s = 5.5 ms.
TEST_F(Sound, TheTimeBetweenEdgesIsNeverOffByMoreThanTheSlew) {
  PlayTo(40 * kNsPerS);
  const auto ups = UpsMs(kNsPerS, 39 * kNsPerS);
  for (std::size_t i = 1; i < ups.size(); ++i) {
    // 0.03 % of 10 ms, the card's 137 ppm before they are known, and 0.1 us of the line between samples.
    ASSERT_NEAR(ups[i] - ups[i - 1], 10, 10 * (3e-4 + 137e-6) + 1e-4) << i;
  }
}

// When the rate becomes known, 800 ppm here, and whenever it is better known: 0.25 % a second are 0.25 us of
// these 10 ms, beside 2 * 0.035 samples of the line between two (SampledWave).
TEST_F(Sound, TheRateIsNeverBentByAStep) {
  card_ = InventedCard(kRate, 800);
  PlayTo(20 * kNsPerS);
  const auto ups = UpsMs(kNsPerS, 19 * kNsPerS);
  ASSERT_GT(ups.size(), 1700U);
  for (std::size_t i = 2; i < ups.size(); ++i) {
    ASSERT_NEAR(ups[i] - ups[i - 1], ups[i - 1] - ups[i - 2], 3e-3) << i;
  }
}

TEST_F(Sound, AfterAnUnderrunItIsSilentAndThenInItsPlaceAnew) {
  PlayTo(20 * kNsPerS);
  card_.RunDry(37 * kNsPerMs, stream_);
  const std::size_t dry = card_.first().size();
  PlayTo(40 * kNsPerS);
  EXPECT_EQ(stream_.report().underruns, 1U);
  // Half a second of 0, less a block of the card.
  for (std::size_t i = dry; i < dry + kRate / 2 - InventedCard::kBlock; ++i) {
    ASSERT_EQ(card_.first()[i], 0.0F);
  }
  EXPECT_GE(stream_.report().silent_frames, 24'000U - InventedCard::kBlock);
  EXPECT_LE(stream_.report().silent_frames, 24'000U + 2 * InventedCard::kBlock);
  const auto ups = UpsMs(35 * kNsPerS, 39 * kNsPerS);
  ASSERT_EQ(ups.size(), 400U);
  for (const double up : ups) EXPECT_NEAR(std::remainder(up, 10), 0, 0.15);
}

TEST_F(Sound, ARunThatSaysNothingIsSilence) {
  stopped_ns_ = 10 * kNsPerS;
  PlayTo(12 * kNsPerS);
  EXPECT_EQ(stream_.report().late, 1U);
  EXPECT_EQ(card_.first().back(), 0.0F);
  EXPECT_TRUE(UpsMs(FromMs(10'200), kNever).empty());
  EXPECT_FALSE(UpsMs(FromMs(9'500), FromMs(10'000)).empty());
}

// A computer that stood still: more than there is room for, at once. The waves go on where the run is.
TEST_F(Sound, WhatFindsNoRoomIsSilenceAndThenItGoesOn) {
  PlayTo(5 * kNsPerS);
  for (std::size_t i = 0; i < WaveQueue::kRoom + 100; ++i) {
    const double volts = i % 2 == 0 ? 5 : -5;
    stream_.Add(0, {5 * kNsPerS + static_cast<TimeNs>(i) * 1000, kNever, volts, volts, 0});
  }
  EXPECT_GE(stream_.report().lost_waves, 100U);
  next_ns_ = FromMs(5'075);
  PlayTo(8 * kNsPerS);
  EXPECT_EQ(card_.first()[card_.first().size() - 2 * kRate - kRate / 2], 0.0F);
  const auto ups = UpsMs(6 * kNsPerS, FromMs(7'900));
  ASSERT_EQ(ups.size(), 190U);
}

TEST_F(Sound, AWaveThatComesTooLateIsNotPlayedElsewhere) {
  PlayTo(5 * kNsPerS);
  stream_.Add(0, {FromMs(4'000), kNever, 9, 9, 0});
  PlayTo(FromMs(5'200));
  EXPECT_EQ(stream_.report().late, 1U);
  EXPECT_EQ(card_.first().back(), 0.0F);
}

TEST_F(Sound, SilencedItStaysSilent) {
  PlayTo(5 * kNsPerS);
  stream_.Silence();
  PlayTo(7 * kNsPerS);
  EXPECT_TRUE(UpsMs(FromMs(5'030), kNever).empty());
}

TEST_F(Sound, NothingIsAllocatedOnceItIsMade) {
  std::vector<float> block(480);
  PlayTo(kNsPerS);
  TimeNs now_ns = card_.now_ns();
  std::size_t taken = 0;
  for (std::int64_t frame = std::ssize(card_.first()); frame < 3 * kRate; frame += 480) {
    const std::size_t before = bus::Allocations();
    now_ns += 10 * kNsPerMs;
    Say(now_ns + kHalfNs);
    stream_.Fill({now_ns, frame, static_cast<double>(frame) - 960}, block);
    taken += bus::Allocations() - before;
  }
  EXPECT_EQ(taken, 0U);
  EXPECT_EQ(stream_.report().late, 0U);
}

}  // namespace
}  // namespace drycrank::output
