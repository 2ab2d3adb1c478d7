// SPDX-License-Identifier: Apache-2.0
//
// The sensors and pickups of a bench, each terminal with its purpose. Internal to schedule/.
#ifndef DRYCRANK_SCHEDULE_WIRED_DEVICES_H_
#define DRYCRANK_SCHEDULE_WIRED_DEVICES_H_

#include <string>
#include <vector>

#include "profile/bench.h"

namespace drycrank::schedule {

enum class Leads {
  kThree,     // supply, ground, signal
  kTwo,       // signal (plus) and ground (minus), either way round
  kTwoPolar,  // the same, and which is which matters: coil, thermocouple
};

struct WiredDevice {
  std::string title;  // "sensor coolant", "trigger crank"
  std::string name;
  Leads leads = Leads::kTwo;
  std::string supply;          // kThree
  std::string ground, signal;  // of two leads: minus and plus
  double min_supply_v = 0;
  bool ratiometric = false;
  int sensor = -1;   // index into bench.sensors, or
  int trigger = -1;  // into bench.triggers
  Place place;

  std::vector<std::string> terminals() const {
    if (leads == Leads::kThree) return {supply, ground, signal};
    return {signal, ground};
  }
};

std::vector<WiredDevice> DevicesOf(const profile::Bench& bench);

// The controller's channels that read the input, by name.
std::vector<std::string> ChannelsAt(const profile::Controller& controller,
                                    const std::string& terminal);

// Whether the controller reads the device's quantity there: a channel whose unit converts and,
// where some channel bears the quantity's own name, that one.
bool Fits(const profile::Bench& bench, const WiredDevice& device, const std::string& terminal);

}  // namespace drycrank::schedule

#endif  // DRYCRANK_SCHEDULE_WIRED_DEVICES_H_
