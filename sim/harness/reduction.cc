// SPDX-License-Identifier: Apache-2.0
#include "harness/reduction.h"

#include <algorithm>
#include <cassert>
#include <cstddef>
#include <limits>

#include "types/nth.h"

namespace drycrank::harness {
namespace {

constexpr int kNone = -1;
// 40 outputs that switched at random were off by 2e-11 V after as many, by 2e-10 V after a hundred
// times as many.
constexpr int kStepsLimit = 10'000;

bool IsPort(const Branch& branch) {
  return HasDiode(branch) || branch.kind == BranchKind::kEmf;
}

// Of a vector with a row for each node but the reference.
template <typename Column>
double At(const Column& volts, int node) {
  return node == 0 ? 0 : volts[node - 1];
}

template <typename Column>
double Between(const Column& volts, const NodePair& pair) {
  return At(volts, pair.plus) - At(volts, pair.minus);
}

template <typename Column>
void Drive(Column&& injected_a, int plus, int minus, double ampere) {
  if (plus != 0) injected_a[plus - 1] += ampere;
  if (minus != 0) injected_a[minus - 1] -= ampere;
}

std::array<int, 4> NodesOf(const Branch& branch) {
  return {branch.plus, branch.minus, branch.supply, branch.ground};
}

double SiemensOf(const Law& law) { return 1 / std::max(law.ohm, kLeastOhm); }

// Gauss and Jordan's, in place, without exchange of rows: resistances seen at ports are positive
// definite, and the ports' own come on top of the diagonal.
template <typename Matrix>
void Invert(Matrix& m) {
  for (Eigen::Index pivot = 0; pivot < m.rows(); ++pivot) {
    const double inverse = 1 / m(pivot, pivot);
    m(pivot, pivot) = 1;
    m.row(pivot) *= inverse;
    for (Eigen::Index row = 0; row < m.rows(); ++row) {
      if (row == pivot) continue;
      const double factor = m(row, pivot);
      m(row, pivot) = 0;
      m.row(row) -= factor * m.row(pivot);
    }
  }
}

// Nodes of devices, and those that are read again and again.
std::vector<bool> KeptOf(const Topology& topology) {
  std::vector<bool> kept(topology.network.names().size(), false);
  const auto keep = [&](const NodePair& pair) {
    Nth(kept, pair.plus) = Nth(kept, pair.minus) = true;
  };
  for (const Branch& branch : topology.branches) {
    for (const int node : NodesOf(branch)) Nth(kept, node) = true;
  }
  for (const NodePair& input : topology.inputs) keep(input);
  for (const NodePair& reference : topology.references) keep(reference);
  keep(topology.controller_supply);
  return kept;
}

std::vector<Branch> Renumbered(std::vector<Branch> branches, const Condensed& network) {
  for (Branch& branch : branches) {
    for (int* node : {&branch.plus, &branch.minus, &branch.supply, &branch.ground}) {
      *node = network.NumberOf(*node);
    }
  }
  return branches;
}
std::vector<NodePair> Renumbered(std::vector<NodePair> pairs, const Condensed& network) {
  for (NodePair& pair : pairs) {
    pair = {network.NumberOf(pair.plus), network.NumberOf(pair.minus)};
  }
  return pairs;
}

// The network's places and those of the devices that are no ports; numbers of the network alone.
Eigen::SparseMatrix<double> MatrixOf(std::span<const Branch> branches,
                                     const Conductances& network) {
  // The triplets of one place are added: a device's zero makes a place and alters no number.
  std::vector<Eigen::Triplet<double>> entries;
  for (int column = 0; column < network.siemens.outerSize(); ++column) {
    for (Eigen::SparseMatrix<double>::InnerIterator e(network.siemens, column); e; ++e) {
      entries.emplace_back(e.row(), e.col(), e.value());
    }
  }
  for (const Branch& branch : branches) {
    if (IsPort(branch)) continue;
    for (const int row : {branch.plus, branch.minus}) {
      for (const int column : NodesOf(branch)) {
        if (row != 0 && column != 0) entries.emplace_back(row - 1, column - 1, 0.0);
      }
    }
  }
  Eigen::SparseMatrix<double> matrix(network.siemens.rows(), network.siemens.cols());
  matrix.setFromTriplets(entries.begin(), entries.end());
  return matrix;
}

}  // namespace

Reduction::Reduction(const Topology& topology)
    : network_(topology.network, KeptOf(topology)),
      branches_(Renumbered(topology.branches, network_)),
      laws_(topology.branches.size()),
      port_of_(topology.branches.size(), kNone),
      seen_(Renumbered(topology.inputs, network_)),
      inputs_(std::ssize(seen_)),
      supply_row_(topology.branches.size(), kNone),
      fixed_(MatrixOf(branches_, network_.conductances())),
      values_(static_cast<std::size_t>(fixed_.nonZeros())),
      lu_(fixed_) {
  // N, the ports, and the places of all other devices in the matrix.
  for (std::size_t d = 0; d < branches_.size(); ++d) {
    const Branch& branch = branches_[d];
    if (HasStates(branch)) {
      supply_row_[d] = static_cast<int>(seen_.size());
      seen_.push_back({branch.supply, branch.ground});
    }
    if (IsPort(branch)) {
      port_of_[d] = static_cast<int>(ports_.size());
      ports_.push_back(static_cast<int>(d));
    } else if (branch.plus != branch.minus) {
      stamps_.push_back(StampOf(static_cast<int>(d)));
    }
  }
  // All memory that a run needs.
  const auto ports = static_cast<Eigen::Index>(ports_.size());
  const auto seen = static_cast<Eigen::Index>(seen_.size());
  node_v_.resize(fixed_.rows(), 1 + ports);
  nodes_.resize(fixed_.rows());
  seen_v0_.resize(seen);
  seen_ohm_.resize(seen, ports);
  siemens_.resize(ports, ports);
  amperes_.resize(ports);
  marked_a_.resize(ports);
  reach_.resize(ports);
  picked_ohm_.resize(inputs_, ports);
  picked_v_.resize(inputs_);
  picked_.reserve(topology.inputs.size());
  column_.resize(ports);
  row_.resize(ports);
  stayed_v_.resize(static_cast<std::size_t>(fixed_.rows()));
  all_v_.resize(network_.node_count());
}

Reduction::Stamp Reduction::StampOf(int device) {
  const Branch& branch = Nth(branches_, device);
  Stamp stamp{.device = device};
  for (std::size_t row = 0; row < 2; ++row) {
    const int row_node = row == 0 ? branch.plus : branch.minus;
    for (std::size_t column = 0; column < 4; ++column) {
      const int column_node = NodesOf(branch)[column];
      if (row_node == 0 || column_node == 0) continue;
      const double& place = fixed_.coeffRef(row_node - 1, column_node - 1);
      stamp.at[row][column] = static_cast<int>(&place - fixed_.valuePtr());
    }
  }
  return stamp;
}

void Reduction::Set(int device, const Law& law) {
  Law& now = Nth(laws_, device);
  if (law == now) return;
  is_recovered_ = false;
  const int port = Nth(port_of_, device);
  if (port == kNone || steps_ >= kStepsLimit) is_stale_ = true;
  if (!is_stale_) Replace(port, now, law);
  now = law;
}

void Reduction::Update() {
  if (is_stale_) Refresh();
}

void Reduction::ReadInputs(std::span<double> volts) const {
  Eigen::Map<Eigen::VectorXd> v(volts.data(), inputs_);
  v = seen_v0_.head(inputs_);
  v.noalias() -= seen_ohm_.topRows(inputs_) * amperes_;
}

void Reduction::ReadInputs(std::span<const int> inputs, std::span<double> volts) {
  if (!std::ranges::equal(inputs, picked_)) PickRows(inputs);
  const auto count = std::ssize(inputs);
  picked_v_.head(count).noalias() = picked_ohm_.topRows(count) * amperes_;
  for (Eigen::Index row = 0; row < count; ++row) {
    const int input = Nth(inputs, row);
    Nth(volts, input) = seen_v0_[input] - picked_v_[row];
  }
}

void Reduction::PickRows(std::span<const int> inputs) {
  picked_.assign(inputs.begin(), inputs.end());
  for (Eigen::Index row = 0; row < std::ssize(inputs); ++row) {
    picked_ohm_.row(row) = seen_ohm_.row(Nth(inputs, row));
  }
}

double Reduction::SuppliesMoved() const {
  if (!is_marked_) return std::numeric_limits<double>::infinity();
  return (amperes_ - marked_a_).cwiseAbs().dot(reach_);
}

void Reduction::MarkSupplies() {
  marked_a_ = amperes_;
  is_marked_ = true;
}

double Reduction::BranchVoltage(int device) const {
  const int port = Nth(port_of_, device);
  assert(port != kNone);
  const Law& law = Nth(laws_, device);
  return law.ohm * amperes_[port] + law.emf;
}

double Reduction::SupplyVoltage(int device) const {
  const int row = Nth(supply_row_, device);
  assert(row != kNone);
  return SeenVoltage(row);
}

double Reduction::NodeVoltage(int node) const {
  const int number = network_.NumberOf(node);
  if (number != kNoNode) return number == 0 ? 0 : StayedVoltage(number - 1);
  if (!is_recovered_) {
    for (std::size_t row = 0; row < stayed_v_.size(); ++row) {
      stayed_v_[row] = StayedVoltage(static_cast<Eigen::Index>(row));
    }
    network_.Recover(stayed_v_, all_v_);
    is_recovered_ = true;
  }
  return Nth(all_v_, node);
}

void Reduction::Gain(int device, std::span<double> gain) {
  const int port = Nth(port_of_, device);
  // Of a port: i falls by Y_p per volt, and N'v rises by N'X Y_p.
  if (port != kNone) {
    for (std::size_t n = 0; n < gain.size(); ++n) {
      gain[n] = seen_ohm_.row(static_cast<Eigen::Index>(n)).dot(siemens_.col(port));
    }
    return;
  }
  // Of a device in the matrix: dv per volt with open ports; then what flows through the ports for
  // that, Y P'dv, takes N'X of it away.
  const Branch& branch = Nth(branches_, device);
  nodes_.setZero();
  Drive(nodes_, branch.plus, branch.minus, SiemensOf(Nth(laws_, device)));
  lu_.Solve({nodes_.data(), static_cast<std::size_t>(nodes_.size())});
  for (Eigen::Index p = 0; p < row_.size(); ++p) row_[p] = Between(nodes_, PortNodes(p));
  column_.noalias() = siemens_ * row_.transpose();
  for (std::size_t n = 0; n < gain.size(); ++n) {
    gain[n] = Between(nodes_, Seen(static_cast<Eigen::Index>(n))) -
              seen_ohm_.row(static_cast<Eigen::Index>(n)).dot(column_);
  }
}

// i = (v(plus, minus) - fraction * v(supply, ground) - emf) / ohm, from plus to minus.
void Reduction::Enter(const Stamp& stamp) {
  const Branch& branch = Nth(branches_, stamp.device);
  const Law& law = Nth(laws_, stamp.device);
  const double siemens = SiemensOf(law);
  const double of_supply = siemens * law.fraction;
  const std::array<double, 4> leaving = {siemens, -siemens, -of_supply, of_supply};
  for (std::size_t column = 0; column < 4; ++column) {
    if (const int at = stamp.at[0][column]; at != kNone) Nth(values_, at) += leaving[column];
    if (const int at = stamp.at[1][column]; at != kNone) Nth(values_, at) -= leaving[column];
  }
  Drive(node_v_.col(0), branch.plus, branch.minus, siemens * law.emf);
}

void Reduction::Refresh() {
  // The matrix of nodal analysis; beside it the right-hand sides whose solutions are v0 and X.
  std::copy_n(fixed_.valuePtr(), values_.size(), values_.begin());
  node_v_.setZero();
  node_v_.col(0) = network_.conductances().injected_a;
  for (const Stamp& stamp : stamps_) Enter(stamp);
  for (Eigen::Index p = 0; p < amperes_.size(); ++p) {
    Drive(node_v_.col(1 + p), PortNodes(p).plus, PortNodes(p).minus, 1);
  }
  // v0 and X, in place.
  lu_.Factor(values_);
  lu_.Solve({node_v_.data(), static_cast<std::size_t>(node_v_.size())});
  ReduceToPorts();
  is_stale_ = false;
  is_marked_ = is_recovered_ = false;
  picked_.clear();
  steps_ = 0;
}

void Reduction::ReduceToPorts() {
  const Eigen::Index ports = amperes_.size();
  // N'v0 and N'X.
  for (Eigen::Index s = 0; s < seen_v0_.size(); ++s) seen_v0_[s] = Between(node_v_.col(0), Seen(s));
  for (Eigen::Index p = 0; p < ports; ++p) {
    for (Eigen::Index s = 0; s < seen_v0_.size(); ++s) {
      seen_ohm_(s, p) = Between(node_v_.col(1 + p), Seen(s));
    }
    reach_[p] = seen_ohm_.col(p).tail(seen_v0_.size() - inputs_).lpNorm<Eigen::Infinity>();
  }
  // diag(ohm) + P'X, and P'v0 - emf in `column_`.
  for (Eigen::Index p = 0; p < ports; ++p) {
    const Law& law = Nth(laws_, Nth(ports_, p));
    for (Eigen::Index q = 0; q < ports; ++q) {
      siemens_(p, q) = Between(node_v_.col(1 + q), PortNodes(p));
    }
    siemens_(p, p) += law.ohm;
    column_[p] = Between(node_v_.col(0), PortNodes(p)) - law.emf;
  }
  // Y, i.
  Invert(siemens_);
  amperes_.noalias() = siemens_ * column_;
}

void Reduction::Replace(Eigen::Index port, const Law& before, const Law& after) {
  const double d_ohm = after.ohm - before.ohm;
  const double d_emf = after.emf - before.emf;
  // Y stays.
  if (d_ohm == 0) {
    amperes_ -= d_emf * siemens_.col(port);
    return;
  }
  // What the change adds to the branch voltage, at the old current, acts like an emf; the answer to
  // it changes the currents in turn, by `row_` = d_ohm y_p per volt. The port's own current and its
  // row and column of Y' would come out as small differences of large numbers where a closed switch
  // opens: for them the same expressions are written out without the difference.
  row_ = d_ohm * siemens_.row(port);
  const double loop = 1 / (1 + row_[port]);
  const double added_v = d_emf + d_ohm * amperes_[port];
  // i'.
  const double ampere = loop * (amperes_[port] - siemens_(port, port) * d_emf);
  column_ = loop * siemens_.col(port);
  amperes_ -= added_v * column_;
  amperes_[port] = ampere;
  // Y': row p is loop y_p, column p is loop Y_p.
  for (Eigen::Index p = 0; p < amperes_.size(); ++p) {
    if (p == port) {
      siemens_.row(p) *= loop;
    } else {
      siemens_.row(p) -= column_[p] * row_;
      siemens_(p, port) = column_[p];
    }
  }
  ++steps_;
}

}  // namespace drycrank::harness
