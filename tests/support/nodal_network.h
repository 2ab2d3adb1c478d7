// SPDX-License-Identifier: Apache-2.0
//
// The volts of a bench, reckoned by the tests' own hand: no code of harness/, plant/ or sensor/.
//
//   G v = i        dense, Gauss with row pivots, once per state of the outputs; or ngspice. A contact
//                  of 5 mohm at each pin, wires by a table of their own, 1 Gohm from each node to the
//                  battery's minus, the controller's supply as a resistance, its joined pins (supply,
//                  ground 5 mohm, sensor ground 20 mohm), pull-ups and inputs against its ground
//   fuse           its own ohm between pins, behind their contacts. In a plug between two pieces of
//                  harness the first wire sits at the pin, the other behind the contact
//   relay          a coil, what is across it, and contacts of contact_ohm or 1 Gohm, by the voltage at
//                  the coil, either way round; a diode: 1 ohm beyond its knee, else 1 Mohm
//   output         fraction * (supply - ground) behind its resistance while it has its least supply;
//                  1 Mohm to its ground else. A Hall output: on_ohm or off_ohm, and a diode from
//                  ground to signal, 1 ohm beyond its knee
//
// Faults and tolerances: departure.h. Thermistors by beta, platinum, ratiometric sensors, switches
// and Hall pickups; a bench with others is not for it.
#ifndef DRYCRANK_TESTS_SUPPORT_NODAL_NETWORK_H_
#define DRYCRANK_TESTS_SUPPORT_NODAL_NETWORK_H_

#include <vector>

#include "profile/bench.h"
#include "tests/support/departure.h"

namespace drycrank::support {

struct Volts {
  double supply_v = 0;
  std::vector<double> reference_v, input_v;
  double most_bridge_a = 0;  // through one of the departure's bridges
};

enum class SolvedBy { kGauss, kNgspice };

// The volts with each stimulus at a value; `crank_on`: the Hall output of the crank conducts.
Volts VoltsOf(const profile::Bench& bench, const Departure& departure,
              const std::vector<double>& stimuli, bool crank_on = false,
              SolvedBy by = SolvedBy::kGauss);

}  // namespace drycrank::support

#endif  // DRYCRANK_TESTS_SUPPORT_NODAL_NETWORK_H_
