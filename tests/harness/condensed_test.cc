// SPDX-License-Identifier: Apache-2.0
//
// A condensed network against the whole one, solved node by node (network.h, which shares no line
// with it), on drawn networks; and against rules that a textbook gives.
#include "harness/condensed.h"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <cmath>
#include <string>
#include <vector>

#include "types/random.h"

namespace drycrank::harness {
namespace {

std::vector<bool> Keep(const Network& network, std::initializer_list<int> nodes) {
  std::vector<bool> kept(network.names().size(), false);
  for (const int node : nodes) kept[static_cast<std::size_t>(node)] = true;
  return kept;
}

// Volts at all nodes, by what stayed.
std::vector<double> Recovered(const Condensed& condensed) {
  const Conductances& g = condensed.conductances();
  const Eigen::VectorXd v = Eigen::MatrixXd(g.siemens).ldlt().solve(g.injected_a);
  std::vector<double> all(condensed.node_count());
  condensed.Recover({v.data(), static_cast<std::size_t>(v.size())}, all);
  return all;
}

TEST(Condensed, WiresInSeriesAreOneWireOfTheirSum) {
  Network network("gnd");
  const int a = network.Node("a"), b = network.Node("b"), c = network.Node("c");
  network.Join(a, b, 2);
  network.Join(b, c, 3);
  const Condensed condensed(network, Keep(network, {a, c}));
  EXPECT_EQ(condensed.NumberOf(b), kNoNode);
  ASSERT_EQ(condensed.conductances().siemens.rows(), 2);
  EXPECT_NEAR(condensed.conductances().siemens.coeff(0, 1), -1 / 5.0, 1e-9);
}

// Kennelly, The equivalence of triangles and three-pointed stars (1899): 1, 2, 3 ohm to the corners
// are 11/3, 11/2 and 11 ohm between them.
TEST(Condensed, AStarOfThreeIsItsTriangle) {
  Network network("gnd");
  const int a = network.Node("a"), b = network.Node("b"), c = network.Node("c");
  const int middle = network.Node("middle");
  network.Join(a, middle, 1);
  network.Join(b, middle, 2);
  network.Join(c, middle, 3);
  const Condensed condensed(network, Keep(network, {a, b, c}));
  const auto& siemens = condensed.conductances().siemens;
  EXPECT_NEAR(siemens.coeff(0, 1), -3 / 11.0, 1e-8);
  EXPECT_NEAR(siemens.coeff(0, 2), -2 / 11.0, 1e-8);
  EXPECT_NEAR(siemens.coeff(1, 2), -1 / 11.0, 1e-8);
}

TEST(Condensed, WhatIsKeptStaysAndTheReferenceIsZero) {
  Network network("gnd");
  const int a = network.Node("a"), b = network.Node("b");
  network.Join(a, b, 1);
  const Condensed condensed(network, Keep(network, {b}));
  EXPECT_EQ(condensed.NumberOf(0), 0);
  EXPECT_EQ(condensed.NumberOf(a), kNoNode);
  EXPECT_EQ(condensed.NumberOf(b), 1);
}

TEST(Condensed, NothingKeptIsStillRecovered) {
  Network network("gnd");
  const int a = network.Node("a"), b = network.Node("b");
  network.Drive(a, 0, 12, 1);
  network.Join(a, b, 1);
  network.Join(b, 0, 2);
  const std::vector<double> v = Recovered(Condensed(network, Keep(network, {})));
  EXPECT_NEAR(v[static_cast<std::size_t>(a)], 9, 1e-7);
  EXPECT_NEAR(v[static_cast<std::size_t>(b)], 6, 1e-7);
}

// Behind a broken wire hangs a piece that only its leak holds: 1 Gohm beside 1 mohm.
TEST(Condensed, ALeakBesideAMilliohmKeepsItsDigits) {
  Network network("gnd");
  const int a = network.Node("a"), b = network.Node("b");
  network.Join(a, b, kLeastOhm);
  const Condensed condensed(network, Keep(network, {a}));
  EXPECT_NEAR(condensed.conductances().siemens.coeff(0, 0) * kLeakOhm, 2, 1e-9);
}

// Trees of wires with loops, splices and sources, as harnesses are.
Network Drawn(Random& random, int nodes) {
  Network network("gnd");
  for (int i = 1; i <= nodes; ++i) {
    const int node = network.Node("n" + std::to_string(i));
    const auto other = static_cast<int>(random.Next() % static_cast<std::uint64_t>(node));
    const double ohm = std::pow(10.0, static_cast<double>(random.Next() % 9) - 3);
    network.Join(node, other, ohm * (1 + static_cast<double>(random.Next() % 100) / 100));
    if (random.Next() % 5 == 0) {
      network.Join(node, static_cast<int>(random.Next() % static_cast<std::uint64_t>(node)), 7);
    }
    if (random.Next() % 9 == 0) network.Drive(node, 0, 12, 0.5);
  }
  return network;
}

TEST(Condensed, DrawnNetworksHaveTheVoltagesOfTheWholeOnes) {
  Random random(7, 1);
  std::size_t taken_out = 0;
  for (int tried = 0; tried < 200; ++tried) {
    const Network network = Drawn(random, 5 + tried % 60);
    std::vector<bool> kept(network.names().size());
    for (std::size_t n = 0; n < kept.size(); ++n) kept[n] = random.Next() % 4 == 0;
    const Condensed condensed(network, kept);
    const std::vector<double> v = Recovered(condensed);
    const Eigen::VectorXd whole = NodalSolver(network).Voltages();
    for (std::size_t n = 0; n < v.size(); ++n) {
      EXPECT_NEAR(v[n], whole[static_cast<Eigen::Index>(n)], 1e-6) << "network " << tried;
      taken_out += condensed.NumberOf(static_cast<int>(n)) == kNoNode;
    }
  }
  EXPECT_GT(taken_out, 3000u);
}

}  // namespace
}  // namespace drycrank::harness
