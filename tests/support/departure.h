// SPDX-License-Identifier: Apache-2.0
//
// How what stands on the table departs from its drawing (profile/bench.h): faults of any kind and
// size, and what is within tolerance. For the tests' own world (nodal_network.h, nodal_reports.h).
//
// A node is a terminal on the device's side ("CLT.1"), the same on the wire's ("CLT.1~": behind the
// contact), or a splice.
#ifndef DRYCRANK_TESTS_SUPPORT_DEPARTURE_H_
#define DRYCRANK_TESTS_SUPPORT_DEPARTURE_H_

#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "profile/bench.h"
#include "profile/sensors.h"

namespace drycrank::support {

// A cut contact: the pin parted from all that is crimped in.
struct Cut {
  std::set<int> wires = {};  // indices
  std::set<std::string> contacts = {};
};

// Of a relay that does not listen to its coil.
enum class Stays { kOff, kOn };

// Copper, water or a knife between two nodes.
struct Bridge {
  std::string a, b;
  double ohm = 0;
};

// It reads as if the quantity were x + offset + gain (x - middle) + 4 bend u (1 - u), with x
// clamped to its range before and u = (x - min) / span.
struct SensorDeparture {
  double offset = 0, gain = 0, bend = 0;           // the quantity's unit; a share; its unit
  std::optional<double> stuck = {};                // at this value of the quantity
  std::optional<profile::SensorModel> other = {};  // another part, leads and all
  bool missing = false;
};

// The controller's table: value * gain + offset.
struct ToldDeparture {
  double gain = 1, offset = 0;
};

struct Departure {
  Cut cut = {};
  std::map<int, double> wire_more_ohm = {};
  std::map<std::string, double> contact_more_ohm = {};
  std::vector<Bridge> bridges = {};
  std::map<std::string, Stays> relays = {};  // by name
  // The wires of the one terminal sit in the other.
  std::vector<std::pair<std::string, std::string>> swapped = {};
  std::map<std::string, double> contact_source_v = {};  // a source in a contact
  std::map<std::string, SensorDeparture> sensors = {};  // by name
  std::map<std::string, double> pull_up_factor = {};    // by the input's terminal
  double reference_more_v = 0;
  std::map<std::string, ToldDeparture> told = {};  // by the channel's name
  std::set<std::string> missing_messages = {};
  // What is no fault.
  double supply_more_v = 0;
  double supply_reading_gain = 0;                  // a share; of the controller's own measurement
  std::map<int, double> wire_factor = {};          // of its ohm; 1 where none is
  std::map<std::string, double> contact_ohm = {};  // 5 mohm where none is
};

}  // namespace drycrank::support

#endif  // DRYCRANK_TESTS_SUPPORT_DEPARTURE_H_
