// SPDX-License-Identifier: Apache-2.0
//
// Who hears whom on a bus, by its wires. A node sits on a pair of terminals (profile/message.h);
// what joins them is the harness with its faults, and between them lie the terminations. Direct
// currents:
//
//   recessive    each pin at 2.5 V behind its transceiver's 25 kohm
//   dominant     CANH pulled up, CANL pulled down, each through a switch and a diode:
//                4.3 V and 0.7 V behind 24 ohm, which give the 3.5 V and 1.5 V at 60 ohm that
//                ISO 11898-2 calls typical (tests/reference/can_bus.yaml)
//   heard        between a receiver's pins more than 0.9 V, recessive less than 0.5 V, both pins
//                at -2 to 7 V (ISO 11898-2, as there); and 0.3 V of margin, since what is just
//                enough on a quiet bench is not in a car (common practice, no source)
//
// Without terminations nothing pulls the pair back: what is dominant fades with the resistance
// across and the capacitance of nodes and wires (100 pF a node, 300 pF of wires: common practice,
// no source), and must be recessive by half a bit. Reflections are not part of this.
//
// A node whose pair is crossed takes what is dominant for recessive. It does not keep out of the
// way, nobody answers it, and what it repeats for ever cancels what the others send: while it sends
// at all, the bus is of no use to anybody.
#ifndef DRYCRANK_HARNESS_BUS_PAIRS_H_
#define DRYCRANK_HARNESS_BUS_PAIRS_H_

#include <cstddef>
#include <span>
#include <vector>

#include "harness/error_state.h"
#include "profile/bench.h"
#include "profile/fault.h"

namespace drycrank::harness {

// Which node of a bus somebody is; kTap: who clips on to the pair behind the controller's plug.
inline constexpr int kTap = -1;
// The node on a plug of the controller; the node that is called `display`. Without one: kTap, where
// everything is heard that is on the pair.
int ControllerNode(const profile::Bench& bench, const profile::Bus& bus);
int DisplayNode(const profile::Bus& bus);

struct BusPins;

class BusPair {
 public:
  // `sends`, per node of the bus: it does at times. REQUIRES: bus.nodes is not empty.
  BusPair(const profile::Bench& bench, const profile::Bus& bus,
          std::span<const profile::Fault* const> faults, const std::vector<bool>& sends);
  BusPair(const profile::Bus& bus, const BusPins& pins, const std::vector<bool>& sends);

  // Volts at the pins of a node while this one is dominant; of nobody: recessive.
  struct Levels {
    double high_v = 0, low_v = 0;
    double Across() const { return high_v - low_v; }
  };
  const Levels& At(int node, int dominant) const { return levels_[Place(node)][Place(dominant)]; }
  const Levels& Recessive(int node) const { return recessive_[Place(node)]; }
  // A meter's reading at a node, key off.
  double OhmAcross(int node) const { return across_ohm_[Place(node)]; }
  bool IsPowered(int node) const { return powered_[Place(node)]; }

  // Do frames of one get to the other, and is the sender answered by anybody?
  bool Hears(int from, int to) const;
  // Of a node that sends; without a supply: active.
  ErrorState StateOf(int node) const;

 private:
  class Solved;
  std::size_t Place(int node) const {
    return node == kTap ? recessive_.size() - 1 : static_cast<std::size_t>(node);
  }
  bool Feels(std::size_t from, std::size_t to) const;
  bool IsAnswered(std::size_t from) const;
  void FindSpoilt(Solved& solved, const std::vector<bool>& sends);

  double bit_s_;
  std::vector<bool> powered_;  // per node, the tap last
  std::vector<Levels> recessive_;
  std::vector<std::vector<Levels>> levels_;  // [receiver][sender]
  std::vector<double> across_ohm_;
  bool spoilt_ = false;
};

}  // namespace drycrank::harness

#endif  // DRYCRANK_HARNESS_BUS_PAIRS_H_
