// SPDX-License-Identifier: Apache-2.0
#include "harness/condensed.h"

#include <algorithm>
#include <cassert>
#include <utility>

#include "types/nth.h"

namespace drycrank::harness {
namespace {

// A star of three is a mesh of three, one of four a mesh of six.
constexpr std::size_t kNoMoreThanBefore = 2, kMostNeighbours = 4;
constexpr int kTakenOut = -2;

}  // namespace

Condensed::Condensed(const Network& network, const std::vector<bool>& kept)
    : number_of_(network.names().size(), kNoNode) {
  assert(kept.size() == number_of_.size());
  std::vector<Node> nodes = NodesOf(network);
  for (std::size_t most = kNoMoreThanBefore; most <= kMostNeighbours; ++most) {
    while (TakeOutAll(nodes, kept, most)) {
    }
  }
  Number(nodes);
}

int Condensed::NumberOf(int node) const { return std::max(Nth(number_of_, node), kNoNode); }

void Condensed::Join(std::vector<Node>& nodes, int a, int b, double siemens) {
  if (a == b) return;
  for (const auto& [here, there] : {std::pair{a, b}, std::pair{b, a}}) {
    if (here == 0) continue;
    Node& node = Nth(nodes, here);
    if (there == 0) {
      node.to_reference += siemens;
      continue;
    }
    const auto known = std::ranges::find(node.neighbours, there, &Neighbour::node);
    if (known == node.neighbours.end()) {
      node.neighbours.push_back({there, siemens});
    } else {
      known->siemens += siemens;
    }
  }
}

std::vector<Condensed::Node> Condensed::NodesOf(const Network& network) {
  std::vector<Node> nodes(network.names().size());
  for (std::size_t node = 1; node < nodes.size(); ++node) nodes[node].to_reference = 1 / kLeakOhm;
  for (const Resistor& r : network.resistors()) Join(nodes, r.a, r.b, 1 / r.ohm);
  for (const Source& s : network.sources()) {
    Join(nodes, s.plus, s.minus, 1 / s.ohm);
    Nth(nodes, s.plus).ampere += s.volts / s.ohm;
    Nth(nodes, s.minus).ampere -= s.volts / s.ohm;
  }
  return nodes;
}

// Those with no more neighbours; false: there was none.
bool Condensed::TakeOutAll(std::vector<Node>& nodes, const std::vector<bool>& kept,
                           std::size_t most) {
  bool any = false;
  for (int node = 1; node < std::ssize(nodes); ++node) {
    const bool stays = kept[static_cast<std::size_t>(node)] || Nth(number_of_, node) == kTakenOut ||
                       Nth(nodes, node).neighbours.size() > most;
    if (stays) continue;
    TakeOut(nodes, node);
    any = true;
  }
  return any;
}

void Condensed::TakeOut(std::vector<Node>& nodes, int node) {
  Star star{node, std::move(Nth(nodes, node)), 0};
  const Neighbours& around = star.then.neighbours;
  star.siemens = star.then.to_reference;
  for (const Neighbour& n : around) star.siemens += n.siemens;
  for (std::size_t a = 0; a < around.size(); ++a) {
    const double share = around[a].siemens / star.siemens;
    Node& at = Nth(nodes, around[a].node);
    std::erase_if(at.neighbours, [&](const Neighbour& n) { return n.node == node; });
    at.to_reference += share * star.then.to_reference;
    at.ampere += share * star.then.ampere;
    for (std::size_t b = 0; b < a; ++b) {
      Join(nodes, around[a].node, around[b].node, share * around[b].siemens);
    }
  }
  Nth(nodes, node) = {};
  Nth(number_of_, node) = kTakenOut;
  stars_.push_back(std::move(star));
}

// G and i of what stayed; row and column one less than the new number.
void Condensed::Number(const std::vector<Node>& nodes) {
  number_of_[0] = 0;
  int count = 1;
  for (std::size_t node = 1; node < nodes.size(); ++node) {
    if (number_of_[node] != kTakenOut) number_of_[node] = count++;
  }
  std::vector<Eigen::Triplet<double>> entries;
  conductances_.injected_a = Eigen::VectorXd::Zero(count - 1);
  for (std::size_t node = 1; node < nodes.size(); ++node) {
    if (number_of_[node] == kTakenOut) continue;
    const int row = number_of_[node] - 1;
    double sum = nodes[node].to_reference;
    for (const Neighbour& n : nodes[node].neighbours) {
      entries.emplace_back(row, Nth(number_of_, n.node) - 1, -n.siemens);
      sum += n.siemens;
    }
    entries.emplace_back(row, row, sum);
    conductances_.injected_a[row] = nodes[node].ampere;
  }
  conductances_.siemens.resize(count - 1, count - 1);
  conductances_.siemens.setFromTriplets(entries.begin(), entries.end());
}

void Condensed::Recover(std::span<const double> stayed, std::span<double> all) const {
  assert(all.size() == number_of_.size());
  all[0] = 0;
  for (std::size_t node = 1; node < all.size(); ++node) {
    if (number_of_[node] != kTakenOut) all[node] = Nth(stayed, number_of_[node] - 1);
  }
  // The last one's neighbours stayed; those of each one before stayed or are known by now.
  for (auto star = stars_.rbegin(); star != stars_.rend(); ++star) {
    double ampere = star->then.ampere;
    for (const Neighbour& n : star->then.neighbours) ampere += n.siemens * Nth(all, n.node);
    Nth(all, star->node) = ampere / star->siemens;
  }
}

}  // namespace drycrank::harness
