// SPDX-License-Identifier: Apache-2.0
#include "output/sound_output.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "tests/output/crystal_port.h"

namespace drycrank::output {
namespace {

constexpr int kRate = 48'000;

// Channel 0 at the card's third output, channel 1 inverted at its first, of four; full scale 2 V and 4 V.
class SoundOut : public testing::Test {
 protected:
  SoundOut() {
    profile::out::Sound card;
    card.device = "x";
    card.outputs = 4;
    card.channels.resize(2);
    card.channels[0].output = 3;
    card.channels[0].full_scale_v = card.channels[0].most_v = 2;
    card.channels[1].output = 1;
    card.channels[1].full_scale_v = 4;
    card.channels[1].most_v = 1;
    card.channels[1].inverted = true;
    auto port = std::make_unique<CrystalPort>(kRate);
    port_ = port.get();
    sound_ = std::make_unique<SoundOutput>(card, std::move(port));
    EXPECT_EQ(sound_->Open(), "");
    EXPECT_EQ(sound_->Arm(), "");
  }
  void BeatTo(TimeNs t_ns) {
    for (; port_->now_ns < t_ns; port_->now_ns += kNsPerMs) sound_->Beat(port_->now_ns);
  }
  // The last samples of an output, 10 ms of them.
  std::vector<float> LastOf(std::size_t output) const {
    std::vector<float> last;
    for (std::size_t i = port_->heard.size() - 4 * kRate / 100; i < port_->heard.size(); i += 4) {
      last.push_back(port_->heard[i + output]);
    }
    return last;
  }

  CrystalPort* port_ = nullptr;
  std::unique_ptr<SoundOutput> sound_;
};

TEST_F(SoundOut, EachChannelIsAtItsOutputWithItsLevelAndSign) {
  sound_->Give({0, 0, Wave{0, kNever, 1, 1, 0}});
  sound_->Give({0, 1, Source{.kind = SourceKind::kSwitched, .value = 1}});
  BeatTo(kNsPerS);
  EXPECT_EQ(LastOf(0).back(), -0.25F);  // 1 of 4 V, inverted
  EXPECT_EQ(LastOf(1).back(), 0.0F);
  EXPECT_EQ(LastOf(2).back(), 0.5F);  // 1 of 2 V
  EXPECT_EQ(LastOf(3).back(), 0.0F);
  sound_->Give({kNsPerS, 1, Source{.kind = SourceKind::kSwitched, .value = 0}});
  BeatTo(2 * kNsPerS);
  EXPECT_EQ(LastOf(0).back(), 0.25F);
}

// 1 ms lobes of 20 V where the channel gives 2 V at most: a sine of 500 Hz and 2 V, full scale.
TEST_F(SoundOut, ALobeTooHighKeepsItsFormAndZeros) {
  for (int i = 0; i < 1000; ++i) {
    const TimeNs begin_ns = i * kNsPerMs;
    BeatTo(begin_ns);
    sound_->Give({begin_ns, 0, Wave{begin_ns, begin_ns + kNsPerMs, 0, 0, i % 2 == 0 ? 20.0 : -20.0}});
  }
  const std::vector<float> heard = LastOf(2);
  EXPECT_NEAR(*std::max_element(heard.begin(), heard.end()), 1, 2e-3);
  EXPECT_NEAR(*std::min_element(heard.begin(), heard.end()), -1, 2e-3);
  for (std::size_t i = 48; i < heard.size(); ++i) {
    EXPECT_NEAR(heard[i], -heard[i - 48], 2e-3);  // half a period
  }
  const double sum_of_squares = [&] {
    double sum = 0;
    for (const float v : heard) sum += static_cast<double>(v) * static_cast<double>(v);
    return sum;
  }();
  EXPECT_NEAR(sum_of_squares / static_cast<double>(heard.size()), 0.5, 1e-3);  // of a sine
}

TEST_F(SoundOut, ALobeLowEnoughIsAsItIs) {
  const Wave low{0, 10, 0.5, 0.1, 1};
  EXPECT_EQ(Limited(low, 2).peak_v, 1);
  EXPECT_EQ(Limited(low, 2).begin_v, 0.5);
  const Wave high = Limited(low, 0.65);  // half way 0.3 + 1
  EXPECT_DOUBLE_EQ(high.AtFraction(0.5), 0.65);
  EXPECT_DOUBLE_EQ(high.begin_v, 0.25);
}

TEST_F(SoundOut, DisarmedItIsSilentAndStandsStillTwiceToo) {
  sound_->Give({0, 0, Wave{0, kNever, 1, 1, 0}});
  BeatTo(kNsPerS);
  sound_->Disarm();
  sound_->Disarm();
  EXPECT_FALSE(port_->is_running());
}

}  // namespace
}  // namespace drycrank::output
