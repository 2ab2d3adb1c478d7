// SPDX-License-Identifier: Apache-2.0
//
// Faults as a change of low rank to the healthy network: G' = G + U M U', with one column of U for
// each port (a pair of nodes) and M given by its inverse, which stays finite for a dead short:
//
//   series          the contact's or wire's two ends, ohm and more_ohm between them:
//                   M = 1 / (ohm + more_ohm) - 1 / ohm,  1/M = -ohm (ohm + more_ohm) / more_ohm
//   open            the same, more_ohm without end: 1/M = -ohm
//   short, leakage  the two nodes, 1/M = ohm
//   terminals       swapped: joining p1-w2, p2-w1 instead of p1-w1, p2-w2 adds
//                   1/ohm ((p1-p2)(w1-w2)' + (w1-w2)(p1-p2)') = 1/ohm (2ee' + fe' + ef'),
//                   e = w1-w2, f = (p1-w1) - (p2-w2): two ports, 1/M = ohm [0 1; 1 -2]. With p1-p2
//                   itself as a port the answer would be a small difference of large numbers
//   connectors      swapped: that for each pair of pins; a pin without a partner is open
//   ground offset   a source of volts in the contact: volts / ohm flow from its wire's end to its pin,
//                   whatever else does. A port whose current is known is not solved for
//   supply off      that for the supply, by its series_ohm
//   not fitted      the supply current's resistor left out (as open); the device without current
//   not plugged     each contact of the plug open
//   relay stays     its contacts without current, the one that is closed a short of its contact_ohm
//
// Rejected: a network of its own for each fault (harness.h), which costs a factorization; that is
// still what decides where faults touch the same contact.
#ifndef DRYCRANK_HARNESS_EDIT_H_
#define DRYCRANK_HARNESS_EDIT_H_

#include <optional>
#include <span>
#include <vector>

#include "harness/topology.h"
#include "profile/bench.h"
#include "profile/fault.h"

namespace drycrank::harness {

struct Edit {
  struct Port {
    NodePair nodes;
    NodePair less;     // their voltage is taken off, where a port has four nodes
    double ohm = 0;    // the inverse of M: own ...
    int partner = -1;  // ... and with another port
    double partner_ohm = 0;
    bool known = false;  // its current is `amperes`, from plus to minus, and its ohm means nothing
    double amperes = 0;
  };
  std::vector<Port> ports;
  std::vector<int> not_fitted;  // branches
};

// Nothing for what has no such form: two faults on one contact, wire or device. `healthy`: MakeTopology(bench, {}). Faults that are none of the harness edit nothing.
std::optional<Edit> EditOf(const profile::Bench& bench, const Topology& healthy,
                           std::span<const profile::Fault> faults);

}  // namespace drycrank::harness

#endif  // DRYCRANK_HARNESS_EDIT_H_
