// SPDX-License-Identifier: Apache-2.0
//
// Outputs that move slowly and hold what they were told, as a bench names them (output_device.h). What a
// channel has while nobody drives it is part of it: `safe`, with what harms least where it is left out.
#ifndef DRYCRANK_PROFILE_SLOW_OUTPUTS_H_
#define DRYCRANK_PROFILE_SLOW_OUTPUTS_H_

#include <optional>
#include <string>
#include <vector>

#include "profile/output_channel.h"

namespace drycrank::profile::out {

enum class Contact { kOpen, kClosed };  // or a transistor that does not conduct, or does

// Switches and relays on the lines of a GPIO chip.
struct Gpio {
  static constexpr const char* kWord = "gpio";
  struct Channel : OutputChannel {
    int line = -1;            // as the chip counts
    bool active_low = false;  // closed while the line is low
    Contact safe = Contact::kOpen;
  };
  std::string chip;              // its path or its label
  std::optional<int> stop_line;  // an input; nothing is driven unless it is high
  std::vector<Channel> channels;
};

// A DAC of the kernel's industrial I/O.
struct Dac {
  static constexpr const char* kWord = "dac";
  struct Channel : OutputChannel {
    std::string device, channel;
    std::optional<double> at_lowest_v, at_highest_v;  // measured at the terminals
    int lowest_count = 0;
    std::optional<int> highest_count;
    double gain = 1;                // of an amplifier behind it; not where it was measured
    double supply_v = 5;            // a share of the supply is one of this
    std::optional<double> safe_v;  // nothing: what is nearest to 0
  };
  std::vector<Channel> channels;
};

// A digital potentiometer of the kernel's industrial I/O.
struct Potentiometer {
  static constexpr const char* kWord = "potentiometer";
  struct Channel : OutputChannel {
    std::string device, channel;
    std::optional<double> at_lowest_ohm, at_highest_ohm;
    int lowest_count = 0;
    std::optional<int> highest_count;
    std::optional<double> safe_ohm;  // nothing: the highest
  };
  std::vector<Channel> channels;
};

// A programmable supply that understands SCPI on TCP. Safe is off.
struct PowerSupply {
  static constexpr const char* kWord = "supply";
  struct Channel : OutputChannel {
    double limit_a = 0;
  };
  std::string host;
  int port = 5025;
  std::vector<Channel> channels;
};

// An I/O node by CiA 401 on a CAN bus of its own.
struct CanNode {
  static constexpr const char* kWord = "canopen";
  struct Channel : OutputChannel {
    std::optional<int> output;    // a switch; or
    std::optional<int> analogue;  // a voltage; each from 0 on
    Contact safe = Contact::kOpen;
    double at_lowest_v = 0;  // V at the lowest count and at the highest
    std::optional<double> at_highest_v;
    int lowest_count = 0, highest_count = 32'767;
    double supply_v = 5;
    double safe_v = 0;
  };
  std::string bus;
  int node = 5, own_node = 127;
  std::vector<Channel> channels;
};

}  // namespace drycrank::profile::out

#endif  // DRYCRANK_PROFILE_SLOW_OUTPUTS_H_
