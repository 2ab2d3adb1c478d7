// SPDX-License-Identifier: Apache-2.0
#include "harness/network.h"

#include <algorithm>
#include <cassert>
#include <utility>

namespace drycrank::harness {
namespace {

using Triplets = std::vector<Eigen::Triplet<double>>;

// Row and column of a node are one less than its number: the reference has none.
void Stamp(int a, int b, double siemens, Triplets& g) {
  if (a == b) return;
  if (a != 0) g.emplace_back(a - 1, a - 1, siemens);
  if (b != 0) g.emplace_back(b - 1, b - 1, siemens);
  if (a != 0 && b != 0) {
    g.emplace_back(a - 1, b - 1, -siemens);
    g.emplace_back(b - 1, a - 1, -siemens);
  }
}

}  // namespace

int Network::Node(const std::string& name) {
  const auto [entry, is_new] = by_name_.try_emplace(name, static_cast<int>(names_.size()));
  if (is_new) names_.push_back(name);
  return entry->second;
}

int Network::Find(std::string_view name) const {
  const auto entry = by_name_.find(std::string(name));
  return entry == by_name_.end() ? kNoNode : entry->second;
}

void Network::Join(int a, int b, double ohm) {
  assert(a >= 0 && b >= 0);
  if (a != b) resistors_.push_back({a, b, std::max(ohm, kLeastOhm)});
}

void Network::JoinByWire(int a, int b, double ohm) {
  assert(a >= 0 && b >= 0);
  if (a != b) resistors_.push_back({a, b, std::max(ohm, kLeastWireOhm)});
}

void Network::Drive(int plus, int minus, double volts, double ohm) {
  assert(plus >= 0 && minus >= 0);
  if (plus != minus) sources_.push_back({plus, minus, volts, std::max(ohm, kLeastOhm)});
}

Conductances ConductancesOf(const Network& network) {
  const auto nodes = static_cast<int>(network.names().size());
  Eigen::VectorXd injected_a = Eigen::VectorXd::Zero(nodes);
  Triplets g;
  for (int node = 1; node < nodes; ++node) Stamp(node, 0, 1 / kLeakOhm, g);
  for (const Resistor& r : network.resistors()) Stamp(r.a, r.b, 1 / r.ohm, g);
  for (const Source& s : network.sources()) {
    Stamp(s.plus, s.minus, 1 / s.ohm, g);
    injected_a[s.plus] += s.volts / s.ohm;
    injected_a[s.minus] -= s.volts / s.ohm;
  }
  Eigen::SparseMatrix<double> siemens(nodes - 1, nodes - 1);
  siemens.setFromTriplets(g.begin(), g.end());
  return {std::move(siemens), injected_a.tail(nodes - 1)};
}

NodalSolver::NodalSolver(const Network& network) {
  Conductances made = ConductancesOf(network);
  injected_a_ = std::move(made.injected_a);
  if (injected_a_.size() == 0) return;  // the reference alone
  factors_.compute(made.siemens);
  assert(factors_.info() == Eigen::Success);  // positive definite by its leaks
}

Eigen::VectorXd NodalSolver::Response(int plus, int minus) const {
  Eigen::VectorXd injected_a = Eigen::VectorXd::Zero(injected_a_.size());
  if (plus != 0) injected_a[plus - 1] += 1;
  if (minus != 0) injected_a[minus - 1] -= 1;
  return Solve(injected_a);
}

Eigen::VectorXd NodalSolver::Solve(const Eigen::VectorXd& injected_a) const {
  const Eigen::Index unknowns = injected_a.size();
  Eigen::VectorXd volts = Eigen::VectorXd::Zero(unknowns + 1);
  if (unknowns > 0) volts.tail(unknowns) = factors_.solve(injected_a);
  return volts;
}

}  // namespace drycrank::harness
