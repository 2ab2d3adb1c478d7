// SPDX-License-Identifier: Apache-2.0
//
// Where wires end in the network, and what they lead on to. A terminal is a contact with two sides,
// its pin "CLT.1" and the harness's "CLT.1~":
//
//   a wire           on the harness's side; in a plug between two pieces of harness the one that is
//                    written first is on the pin's side
//   a fuse           behind the contacts of its box, on the pins
//   a splice         has one side
#ifndef DRYCRANK_PROFILE_WIRE_ENDS_H_
#define DRYCRANK_PROFILE_WIRE_ENDS_H_

#include <string>
#include <vector>

#include "profile/bench.h"

namespace drycrank::profile {

// "CLT" of "CLT.1"; a splice is its own.
inline std::string PlugOf(const std::string& terminal) {
  return terminal.substr(0, terminal.find('.'));
}

struct WireEnds {
  std::string from, to;  // nodes
};
// In the order of the bench's wires.
std::vector<WireEnds> WireEndsOf(const Bench& bench);

// Does what comes along one wire go on here: a splice, a pin with several wires or fuses?
bool IsJoint(const Bench& bench, const std::string& place);

// A switch that the controller does not read: of the ignition, a battery's. Neither of its leads
// reaches an input.
bool IsFeedSwitch(const Bench& bench, const Sensor& sensor);

// Terminals that a part joins, or may join, to this one: a relay's contacts, a diode's other side, a
// switch in a feed.
std::vector<std::string> BehindPart(const Bench& bench, const std::string& terminal);
// The coil pins of the relay whose contact ends here; empty: no such relay.
std::vector<std::string> CoilBehind(const Bench& bench, const std::string& terminal);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_WIRE_ENDS_H_
