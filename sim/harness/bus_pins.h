// SPDX-License-Identifier: Apache-2.0
//
// What a bus's nodes (bus_pairs.h) have between their pins and the wires: all that no sender changes.
// Pin 2 k is CANH of node k, pin 2 k + 1 its CANL, the tap last:
//
//   v = rest_v + R i        i: what drivers push into the pins
//
// Of one set of faults, from a network of its own (BusPinsOf); of thousands, as changes of the
// healthy one (BusNetwork), with the ports of edit.h. x_q: node voltages of the healthy bench per
// ampere into pin q, v0: those at rest, U: the ports, W = G^-1 U, Z = U'W:
//
//   (Z + M^-1) j = U'v0      rest_v_p = v0_p - (U'x_p)'j        G is symmetric: W at pin p is U'x_p
//   (Z + M^-1) k = U'x_q       R_pq   = x_q,p - (U'x_p)'k       k = 0 of a port whose current is known
//
// Who of them has a supply turns on devices, of which a relay has states: that is a Variant's work.
#ifndef DRYCRANK_HARNESS_BUS_PINS_H_
#define DRYCRANK_HARNESS_BUS_PINS_H_

#include <Eigen/Dense>
#include <memory>
#include <span>
#include <vector>

#include "profile/bench.h"
#include "profile/fault.h"

namespace drycrank::harness {

// A node's least supply, where the bench has a load of its name (common practice, no source).
inline constexpr double kNodeWorksV = 6;

struct BusPins {
  Eigen::VectorXd rest_v;
  Eigen::MatrixXd ohm;        // R
  std::vector<bool> powered;  // per node, the tap last
};

// REQUIRES: bus.nodes is not empty.
BusPins BusPinsOf(const profile::Bench& bench, const profile::Bus& bus,
                  std::span<const profile::Fault* const> faults);

// A bench's buses, the healthy network solved once.
class BusNetwork {
 public:
  // The bench must outlive it.
  explicit BusNetwork(const profile::Bench& bench);
  ~BusNetwork();

  // One for each bus; of one without nodes nothing.
  std::vector<BusPins> With(std::span<const profile::Fault* const> faults);

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace drycrank::harness

#endif  // DRYCRANK_HARNESS_BUS_PINS_H_
