// SPDX-License-Identifier: Apache-2.0
//
// A network as seen from some of its nodes. Wires and contacts stay as they are while a run goes
// on; so what lies between two devices is taken out once, node by node: a star of conductances g
// about a node becomes the mesh of its neighbours (Rosen, J. Inst. Electr. Eng. 62 (1924), 916),
//
//   g_ab = g_a g_b / sum      i_a += i g_a / sum      v = (i + g_1 v_1 + g_2 v_2 + ...) / sum
//
// with the reference as one neighbour more. Nothing is subtracted: beside a wire of a milliohm the
// leak of a gigohm keeps all its digits. A node with many neighbours stays: its mesh would be more
// to reckon with than its star.
#ifndef DRYCRANK_HARNESS_CONDENSED_H_
#define DRYCRANK_HARNESS_CONDENSED_H_

#include <cstddef>
#include <span>
#include <vector>

#include "harness/network.h"

namespace drycrank::harness {

class Condensed {
 public:
  // `kept`, per node: it stays in any case. REQUIRES: kept.size() is that of the network's names.
  Condensed(const Network& network, const std::vector<bool>& kept);

  // Of the nodes that stayed, by their new numbers.
  const Conductances& conductances() const { return conductances_; }
  // New number of a node that stayed, kNoNode of any other. The reference is 0 in both.
  int NumberOf(int node) const;
  std::size_t node_count() const { return number_of_.size(); }  // of the network

  // Volts at all nodes of the network, by their old numbers; [0] is 0.
  // `stayed`: of those that stayed, the reference left out. REQUIRES: all.size() is node_count().
  void Recover(std::span<const double> stayed, std::span<double> all) const;

 private:
  struct Neighbour {
    int node = 0;
    double siemens = 0;
  };
  using Neighbours = std::vector<Neighbour>;
  struct Node {
    Neighbours neighbours;    // without the reference
    double to_reference = 0;  // siemens
    double ampere = 0;        // that sources drive into it
  };
  // A node as it was when it was taken out.
  struct Star {
    int node = 0;
    Node then;
    double siemens = 0;  // sum
  };

  static std::vector<Node> NodesOf(const Network& network);
  static void Join(std::vector<Node>& nodes, int a, int b, double siemens);
  bool TakeOutAll(std::vector<Node>& nodes, const std::vector<bool>& kept, std::size_t most);
  void TakeOut(std::vector<Node>& nodes, int node);
  void Number(const std::vector<Node>& nodes);

  std::vector<int> number_of_;
  std::vector<Star> stars_;  // in the order in which they were taken out
  Conductances conductances_;
};

}  // namespace drycrank::harness

#endif  // DRYCRANK_HARNESS_CONDENSED_H_
