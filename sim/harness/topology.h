// SPDX-License-Identifier: Apache-2.0
//
// Bench and faults to network, devices and points of measurement. This is where a fault is an edit.
//
// A terminal has two nodes and a contact between them:
//
//    device |  pin            contact            wire's end  | harness
//    -------+  CLT.1 o------[ 5 mohm ]------o  CLT.1~  ======== wire
//                                                 |  shorts and leakage
//
//   open                 the contact, or every wire of the circuit, is left out
//   series_resistance    ohm more in the contact, or in every wire of the circuit
//   terminals_swapped    the two pins' contacts go to each other's wire end
//   connectors_swapped   that for every pin of two connectors; one without a partner hangs free
//   supply_off           the source of the supply, or of the 5 V output, has another voltage
//   ground_offset        a source in the contact: the pin is `volts` above the wire's end
//   short_..., leakage   a resistor at the wire's end (or splice)
//   not_fitted           the device's branch and supply current are left out
//   termination          the resistor between a node's pins is another, or none
//   not_plugged          all contacts of the plug are left out
//   relay_stays          its contacts are two resistors, or none
// A name that is unknown here edits nothing: the loader has checked names.
#ifndef DRYCRANK_HARNESS_TOPOLOGY_H_
#define DRYCRANK_HARNESS_TOPOLOGY_H_

#include <span>
#include <vector>

#include "harness/branch.h"
#include "harness/network.h"
#include "profile/bench.h"
#include "profile/fault.h"

namespace drycrank::harness {

inline constexpr double kContactOhm = 0.005;      // common practice, no source
inline constexpr double kSensorGroundOhm = 0.02;  // inside the controller, to its ground
inline constexpr double kJoinedPinOhm = 0.005;    // inside, between its supply pins; its grounds
// Inside the controller, from each terminal of a differential input to ground: fixes common mode.
inline constexpr double kBiasOhm = 100e3;

struct NodePair {
  int plus = 0;
  int minus = 0;
};

inline constexpr double kOpenContactOhm = 1e9;  // of a relay
inline constexpr int kNoBranch = -1;

// A relay's contacts among the branches; kNoBranch where it has none.
struct RelayBranches {
  int normally_open = kNoBranch, normally_closed = kNoBranch;
};

struct Topology {
  Network network;
  std::vector<Branch> branches;  // triggers in the order of the bench, then sensors; then parts
  std::size_t device_count = 0;  // without the parts
  std::vector<RelayBranches> relays;
  std::vector<NodePair> inputs;  // of the controller
  NodePair controller_supply;
  std::vector<NodePair> references;
};

Topology MakeTopology(const profile::Bench& bench, std::span<const profile::Fault* const> faults);

}  // namespace drycrank::harness

#endif  // DRYCRANK_HARNESS_TOPOLOGY_H_
