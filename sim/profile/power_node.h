// SPDX-License-Identifier: Apache-2.0
//
// A node that distributes power: channels, each with a load whose current it measures and switches off
// by itself when that is too much. Its messages are among those that drycrank sends; their signals
// carry NODE.CHANNEL.current (A), .channel_state and .trips.
//
//   load     ____________.---------------------------------
//   rated    - - - - - - / - - - - - - - - - - - - - - - -
//                        |<- trip_delay ->|<- retry_after ->|<- trip_delay ->|
//   state    on                            tripped           on               tripped ...
//
// After `retries` of them it stays tripped until reset. Being switched off and on is no reset.
#ifndef DRYCRANK_PROFILE_POWER_NODE_H_
#define DRYCRANK_PROFILE_POWER_NODE_H_

#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "types/diagnostic.h"

namespace drycrank::profile {

// The codes of NODE.CHANNEL.channel_state.
enum class ChannelState { kOff = 0, kOn = 1, kTripped = 2, kOpen = 3 };

struct PowerChannel {
  std::string name;
  int load = -1;         // stimulus: what its load draws, A, where it is on
  int switched_by = -1;  // stimulus: on by any value but 0; -1: it is always on
  double rated_a = 0;
  double trip_delay_ms = 0;  // how long the current must be higher
  int retries = 0;           // how often it comes on again by itself
  double retry_after_ms = 1000;
  double open_below_a = 0;  // on, and less than this: open; 0: it does not look
  Place place = {};
};

struct PowerNode {
  std::string name;
  int reset_by = -1;  // stimulus: any value but 0 lets tripped channels come on again; -1: nothing
  std::vector<PowerChannel> channels;
  Place place = {};
};

inline constexpr std::array<std::string_view, 3> kChannelValues = {"current", "channel_state", "trips"};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_POWER_NODE_H_
