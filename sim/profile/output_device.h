// SPDX-License-Identifier: Apache-2.0
//
// Where a bench's signals leave the computer, section `drives` of its file: devices whose channels
// stand in the place of a trigger's pickup, a sensor or a supply. What each can give is
// output/abilities.h. A new kind is added to the variant; the compiler then leads to its keys
// (keys_outputs.h), its abilities and where it is opened.
#ifndef DRYCRANK_PROFILE_OUTPUT_DEVICE_H_
#define DRYCRANK_PROFILE_OUTPUT_DEVICE_H_

#include <string>
#include <variant>
#include <vector>

#include "profile/bench.h"
#include "profile/output_channel.h"
#include "profile/slow_outputs.h"
#include "types/diagnostic.h"

namespace drycrank::profile {

namespace out {

// The trigger core (sim/core), on a serial line.
struct Core {
  static constexpr const char* kWord = "core";
  struct Channel : OutputChannel {
    int pin = -1;        // its channel there, 0 to 3
    int safe_level = 0;  // of the pin
  };
  std::string line;  // absolute path of a serial port, or of a local socket
  int baud = 115200;
  int node = 5, own_node = 1;  // of the core, of this computer
  double missed_ms = 300;      // after so long without a sign of life its pins are safe
  std::vector<Channel> channels;
};

// A sound card.
struct Sound {
  static constexpr const char* kWord = "sound";
  struct Channel : OutputChannel {
    int output = 0;           // of the card, from 1 on; 0: it is missing
    double full_scale_v = 0;  // what it gives for 1.0
    double most_v = 0;        // 0: full_scale_v of a coil, three quarters of it of a Hall sensor
    double corner_hz = 0;     // of its capacitor; 0: coupled to DC
    bool inverted = false;
  };
  std::string device;
  int rate_hz = 48'000;
  int outputs = 2;
  double latency_ms = 100;
  std::vector<Channel> channels;
};

}  // namespace out

using DeviceKind = std::variant<out::Core, out::Sound, out::Gpio, out::Dac, out::Potentiometer,
                                out::PowerSupply, out::CanNode>;

struct OutputDevice {
  std::string name;
  DeviceKind kind;
  Place place;
};

// In the order of the file; an index into it is the channel's number (output/output.h).
std::vector<const OutputChannel*> ChannelsOf(const OutputDevice& output);
// "trigger 'crank'"
std::string InWords(const OutputChannel& channel);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_OUTPUT_DEVICE_H_
