// SPDX-License-Identifier: Apache-2.0
//
// The sensors and pickups of a bench, each terminal with its purpose. Internal to schedule/.
#ifndef DRYCRANK_SCHEDULE_WIRED_DEVICES_H_
#define DRYCRANK_SCHEDULE_WIRED_DEVICES_H_

#include <string>
#include <vector>

#include "profile/bench.h"
#include "profile/device_leads.h"

namespace drycrank::schedule {

using profile::Leads;

struct WiredDevice : profile::DeviceLeads {
  std::string title;  // "sensor coolant", "trigger crank"
  std::string name;
  int sensor = -1;   // index into bench.sensors, or
  int trigger = -1;  // into bench.triggers
  Place place;
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
