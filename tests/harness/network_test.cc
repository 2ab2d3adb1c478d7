// SPDX-License-Identifier: Apache-2.0
#include "harness/network.h"

#include <gtest/gtest.h>

namespace drycrank::harness {
namespace {

TEST(Network, ANameIsOneNode) {
  Network network("gnd");
  EXPECT_EQ(network.Node("gnd"), 0);
  EXPECT_EQ(network.Node("a"), 1);
  EXPECT_EQ(network.Node("a"), 1);
  EXPECT_EQ(network.Find("b"), kNoNode);
}

TEST(NodalSolver, SourceBehindOneOhmDividesOverTwo) {
  Network network("gnd");
  const int a = network.Node("a"), b = network.Node("b");
  network.Drive(a, 0, 12, 1);
  network.Join(a, b, 1);
  network.Join(b, 0, 2);
  // 12 V over 4 ohm: 3 A; a = 9 V, b = 6 V. The leaks take some nA.
  const Eigen::VectorXd v = NodalSolver(network).Voltages();
  EXPECT_NEAR(v[a], 9, 1e-7);
  EXPECT_NEAR(v[b], 6, 1e-7);
}

// Bridge 1, 2, 3, 4 ohm with 5 ohm across. From 10 V: (10-a)/1 = a/2 + (a-b)/5 and
// (10-b)/3 = b/4 + (b-a)/5, that is 1.7 a - 0.2 b = 10 and -0.2 a + 47/60 b = 10/3; by Cramer's
// rule the determinant is 31/24, a = 8.5 * 24/31 = 204/31 and b = (23/3) * 24/31 = 184/31.
TEST(NodalSolver, UnbalancedBridge) {
  Network network("gnd");
  const int top = network.Node("top"), a = network.Node("a"), b = network.Node("b");
  network.Drive(top, 0, 10, kLeastOhm);
  network.Join(top, a, 1);
  network.Join(a, 0, 2);
  network.Join(top, b, 3);
  network.Join(b, 0, 4);
  network.Join(a, b, 5);
  const Eigen::VectorXd v = NodalSolver(network).Voltages();
  // As ratios, for the source sags in its 1 mohm.
  EXPECT_NEAR(v[a] / v[top], 20.4 / 31, 1e-8);
  EXPECT_NEAR(v[b] / v[top], 18.4 / 31, 1e-8);
}

TEST(NodalSolver, ResponseIsThePortsResistance) {
  Network network("gnd");
  const int a = network.Node("a"), b = network.Node("b");
  network.Join(a, 0, 100);
  network.Join(b, 0, 50);
  network.Drive(a, b, 7, 150);  // sources at rest: 150 ohm beside 100 + 50 ohm is 75 ohm
  const Eigen::VectorXd v = NodalSolver(network).Response(a, b);
  EXPECT_NEAR(v[a] - v[b], 75, 1e-5);
}

TEST(NodalSolver, FloatingNodesHaveTheReferencesVoltage) {
  Network network("gnd");
  const int a = network.Node("a"), b = network.Node("b");
  network.Drive(a, b, 6, 10);
  // Two equal leaks: 6 V shared evenly.
  const Eigen::VectorXd v = NodalSolver(network).Voltages();
  EXPECT_NEAR(v[a], 3, 1e-6);
  EXPECT_NEAR(v[b], -3, 1e-6);
}

TEST(NodalSolver, TheReferenceAloneIsANetwork) {
  EXPECT_EQ(NodalSolver(Network("gnd")).Voltages().size(), 1);
}

}  // namespace
}  // namespace drycrank::harness
