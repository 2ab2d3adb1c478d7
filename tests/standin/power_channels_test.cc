// SPDX-License-Identifier: Apache-2.0
//
// A channel that is rated 10 A, trips after 200 ms, comes on again once, 1 s later. Its load draws 15 A
// from 2 s on. By hand: trip at 2.200 s, on again at 3.200 s, trip at 3.400 s, and tripped from then on.
#include "standin/power_channels.h"

#include <gtest/gtest.h>

namespace drycrank::standin {
namespace {

using profile::ChannelState;

constexpr int kLoad = 0, kSwitch = 1, kKey = 2;
constexpr TimeNs Ms(std::int64_t ms) { return ms * kNsPerMs; }

class Power : public testing::Test {
 protected:
  Power() {
    profile::PowerNode node{"box", kKey, {}};
    profile::PowerChannel fan{"fan", kLoad, kSwitch, 10, 200, 1, 1000, 0.5};
    node.channels = {fan};
    bench_.power_nodes = {node};
  }
  ChannelState StateAt(TimeNs t_ns) {
    return static_cast<ChannelState>(ValueAt("box.fan.channel_state", t_ns));
  }
  double ValueAt(const char* name, TimeNs t_ns) {
    if (!nodes_) {
      nodes_.emplace(bench_, [this](int stimulus, TimeNs t) { return Stimulus(stimulus, t); });
    }
    return nodes_->Value(nodes_->ValueIndex(name), t_ns);
  }
  double Stimulus(int stimulus, TimeNs t_ns) const {
    if (stimulus == kSwitch) return t_ns >= on_ns_;
    if (stimulus == kKey) return t_ns >= pressed_ns_ && t_ns < released_ns_;
    return t_ns >= jams_ns_ && !(t_ns >= dip_ns_ && t_ns < dip_ns_ + kNsPerMs) ? 15 : load_a_;
  }

  profile::Bench bench_;
  std::optional<PowerNodes> nodes_;
  TimeNs on_ns_ = 0, jams_ns_ = Ms(2000), dip_ns_ = kNever, pressed_ns_ = kNever,
         released_ns_ = kNever;
  double load_a_ = 5;
};

TEST_F(Power, TripsAfterItsDelayAndComesOnAgainAsOftenAsItMay) {
  EXPECT_EQ(StateAt(0), ChannelState::kOn);
  EXPECT_EQ(ValueAt("box.fan.current", Ms(2199)), 15);
  EXPECT_EQ(StateAt(Ms(2199)), ChannelState::kOn);
  EXPECT_EQ(StateAt(Ms(2200)), ChannelState::kTripped);
  EXPECT_EQ(ValueAt("box.fan.current", Ms(2200)), 0);
  EXPECT_EQ(ValueAt("box.fan.trips", Ms(2200)), 1);
  EXPECT_EQ(StateAt(Ms(3199)), ChannelState::kTripped);
  EXPECT_EQ(StateAt(Ms(3200)), ChannelState::kOn);
  EXPECT_EQ(StateAt(Ms(3399)), ChannelState::kOn);
  EXPECT_EQ(StateAt(Ms(3400)), ChannelState::kTripped);
  EXPECT_EQ(ValueAt("box.fan.trips", Ms(3400)), 2);
  EXPECT_EQ(StateAt(Ms(20000)), ChannelState::kTripped);
}

// Pressed at 5 s and held: on at once, tripped again 200 ms later, and not let go of once more.
TEST_F(Power, TheKeyLetsItComeOnOnceForEachPress) {
  bench_.power_nodes[0].channels[0].retries = 0;
  pressed_ns_ = Ms(5000);
  released_ns_ = Ms(9000);
  EXPECT_EQ(StateAt(Ms(4999)), ChannelState::kTripped);
  EXPECT_EQ(StateAt(Ms(5000)), ChannelState::kOn);
  EXPECT_EQ(ValueAt("box.fan.trips", Ms(5000)), 0);
  EXPECT_EQ(StateAt(Ms(5200)), ChannelState::kTripped);
  EXPECT_EQ(StateAt(Ms(8000)), ChannelState::kTripped);
}

// Within for the instant at 2.150 s, the delay begins anew at 2.151 s.
TEST_F(Power, ADelayBeginsAnewOnceTheCurrentIsBack) {
  dip_ns_ = Ms(2150);
  EXPECT_EQ(StateAt(Ms(2350)), ChannelState::kOn);
  EXPECT_EQ(StateAt(Ms(2351)), ChannelState::kTripped);
}

TEST_F(Power, SwitchedOffItDrawsNothingAndWithoutALoadItIsOpen) {
  on_ns_ = Ms(100);
  load_a_ = 0.4;
  EXPECT_EQ(StateAt(Ms(99)), ChannelState::kOff);
  EXPECT_EQ(ValueAt("box.fan.current", Ms(99)), 0);
  EXPECT_EQ(StateAt(Ms(100)), ChannelState::kOpen);
  EXPECT_EQ(ValueAt("box.fan.current", Ms(100)), 0.4);
}

// At 10 A it is not above what it is rated for.
TEST_F(Power, AtWhatItIsRatedForItStaysOn) {
  load_a_ = 10;
  jams_ns_ = kNever;
  EXPECT_EQ(StateAt(Ms(10000)), ChannelState::kOn);
}

// What is driven changes at 2 s: the instants before it had the former value.
TEST_F(Power, WhatIsDrivenFromAnInstantOnCountsFromThatInstantOn) {
  EXPECT_EQ(StateAt(0), ChannelState::kOn);
  jams_ns_ = kNever;
  nodes_->LookBefore(Ms(2000));
  jams_ns_ = 0;
  EXPECT_EQ(StateAt(Ms(2199)), ChannelState::kOn);
  EXPECT_EQ(StateAt(Ms(2200)), ChannelState::kTripped);
}

}  // namespace
}  // namespace drycrank::standin
