// SPDX-License-Identifier: Apache-2.0
//
// Nodes, resistors and sources with a series resistance: the part of the bench that does not change
// while a run goes on. Nodal analysis: G v = i, where G is the sum of the conductances
// (Ho, Ruehli, Brennan, "The modified nodal approach to network analysis", IEEE Trans. CAS-22,
// 1975; a source is entered as its Norton equivalent, so that the unknowns are node voltages alone
// and G is symmetric and positive definite).
//
// Node 0 is the reference. Every other node leaks 1 Gohm to it, so that G is never singular.
#ifndef DRYCRANK_HARNESS_NETWORK_H_
#define DRYCRANK_HARNESS_NETWORK_H_

#include <Eigen/Dense>
#include <Eigen/Sparse>
#include <Eigen/SparseCholesky>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

namespace drycrank::harness {

inline constexpr int kNoNode = -1;
inline constexpr double kLeakOhm = 1e9;
// No resistance of a contact, device or short is less, no wire's or fuse's less than the second:
// beside smaller ones the leak would drown in rounding. 25 mm of 50 mm2 have 10 uohm.
inline constexpr double kLeastOhm = 1e-3, kLeastWireOhm = 1e-5;

struct Resistor {
  int a = 0;
  int b = 0;
  double ohm = 0;
};

struct Source {  // `plus` is `volts` above `minus` when no current flows
  int plus = 0;
  int minus = 0;
  double volts = 0;
  double ohm = 0;
};

class Network {
 public:
  explicit Network(const std::string& reference) { Node(reference); }

  // The node of that name, made if need be.
  int Node(const std::string& name);
  // The node of that name or kNoNode.
  int Find(std::string_view name) const;

  void Join(int a, int b, double ohm);
  void JoinByWire(int a, int b, double ohm);
  void Drive(int plus, int minus, double volts, double ohm);

  const std::vector<std::string>& names() const { return names_; }
  const std::vector<Resistor>& resistors() const { return resistors_; }
  const std::vector<Source>& sources() const { return sources_; }

 private:
  std::vector<std::string> names_;
  std::unordered_map<std::string, int> by_name_;
  std::vector<Resistor> resistors_;
  std::vector<Source> sources_;
};

// G and i; row and column of a node are one less than its number, the reference has none.
struct Conductances {
  Eigen::SparseMatrix<double> siemens;
  Eigen::VectorXd injected_a;  // what the sources drive into each node
};
Conductances ConductancesOf(const Network& network);

// The network's G, factored once. Vectors hold one voltage per node, [0] is zero.
class NodalSolver {
 public:
  explicit NodalSolver(const Network& network);

  // Node voltages that the network's own sources cause.
  Eigen::VectorXd Voltages() const { return Solve(injected_a_); }
  // Node voltages per ampere driven into `plus` and out of `minus`, the sources at rest.
  Eigen::VectorXd Response(int plus, int minus) const;

 private:
  Eigen::VectorXd Solve(const Eigen::VectorXd& injected_a) const;

  Eigen::VectorXd injected_a_;
  Eigen::SimplicialLDLT<Eigen::SparseMatrix<double>> factors_;
};

}  // namespace drycrank::harness

#endif  // DRYCRANK_HARNESS_NETWORK_H_
