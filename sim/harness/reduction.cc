// SPDX-License-Identifier: Apache-2.0
#include "harness/reduction.h"

#include <cstddef>

namespace drycrank::harness {
namespace {

// Every device begins as this: between closed switches and open ones.
constexpr Law kFirstLaw{1e3, 0, 0};

}  // namespace

Reduction::Reduction(const Topology& topology)
    : devices_(static_cast<Eigen::Index>(topology.branches.size())),
      laws_(topology.branches.size(), kFirstLaw),
      row_(devices_),
      steps_limit_(256 + 4 * static_cast<int>(devices_)) {
  const NodalSolver solver(topology.network);
  node_v0_ = solver.Voltages();
  node_ohm_.resize(node_v0_.size(), devices_);
  for (Eigen::Index d = 0; d < devices_; ++d) {
    const Branch& branch = topology.branches[static_cast<std::size_t>(d)];
    node_ohm_.col(d) = solver.Response(branch.plus, branch.minus);
  }
  Factor(topology);
  answer_ = first_answer_;
  by_emf_ = first_by_emf_;
  column_.resize(answer_.size());
}

void Reduction::Factor(const Topology& topology) {
  std::vector<NodePair> seen;  // P, S and N
  for (const Branch& branch : topology.branches) seen.push_back({branch.plus, branch.minus});
  for (const Branch& branch : topology.branches) seen.push_back({branch.supply, branch.ground});
  seen.insert(seen.end(), topology.inputs.begin(), topology.inputs.end());

  const auto rows = static_cast<Eigen::Index>(seen.size());
  Eigen::VectorXd seen_v0(rows);
  Eigen::MatrixXd seen_ohm(rows, devices_);
  for (Eigen::Index row = 0; row < rows; ++row) {
    const NodePair& pair = seen[static_cast<std::size_t>(row)];
    seen_v0[row] = node_v0_[pair.plus] - node_v0_[pair.minus];
    seen_ohm.row(row) = node_ohm_.row(pair.plus) - node_ohm_.row(pair.minus);
  }

  Eigen::MatrixXd siemens(devices_, devices_);
  if (devices_ > 0) {
    Eigen::MatrixXd matrix = seen_ohm.topRows(devices_);
    matrix.diagonal().array() += kFirstLaw.ohm;
    siemens = matrix.partialPivLu().inverse();
  }
  const Eigen::VectorXd amperes = siemens * seen_v0.head(devices_);
  const Eigen::Index others = rows - devices_;
  first_by_emf_.resize(rows, devices_);
  first_by_emf_ << siemens, -seen_ohm.bottomRows(others) * siemens;
  first_answer_.resize(rows);
  first_answer_ << amperes, seen_v0.tail(others) - seen_ohm.bottomRows(others) * amperes;
}

void Reduction::Set(int device, const Law& law) {
  const Law& now = laws_[static_cast<std::size_t>(device)];
  if (law == now) return;
  if (steps_ >= steps_limit_) StartAgain();
  Replace(device, law);
}

double Reduction::BranchVoltage(int device) const {
  const Law& law = laws_[static_cast<std::size_t>(device)];
  return law.ohm * answer_[device] + law.fraction * SupplyVoltage(device) + law.emf;
}

double Reduction::NodeVoltage(int node) const {
  return node_v0_[node] - node_ohm_.row(node).dot(answer_.head(devices_));
}

void Reduction::Replace(int device, const Law& law) {
  Law& now = laws_[static_cast<std::size_t>(device)];
  const double ohm = law.ohm - now.ohm;
  const double fraction = law.fraction - now.fraction;
  const double emf = law.emf - now.emf;
  now = law;
  if (ohm == 0 && fraction == 0) {
    answer_ -= emf * by_emf_.col(device);
    return;
  }
  // What the change adds to the branch voltage, at the old currents, acts like an emf; the answer
  // to it changes the currents in turn, by `row_` per volt. The device's own current and its
  // derivatives would come out as small differences of large numbers where a closed switch opens:
  // for them the same expressions are written out without the difference.
  row_ = ohm * by_emf_.row(device) + fraction * by_emf_.row(devices_ + device);
  const double loop = 1 / (1 + row_[device]);
  const double own = by_emf_(device, device);
  const double kept = loop * (1 + fraction * by_emf_(devices_ + device, device));
  const double taken = loop * own * fraction;
  const double added_v = emf + ohm * answer_[device] + fraction * SupplyVoltage(device);
  const double ampere = kept * answer_[device] - taken * SupplyVoltage(device) - loop * own * emf;
  column_ = loop * by_emf_.col(device);
  answer_ -= added_v * column_;
  answer_[device] = ampere;
  for (Eigen::Index d = 0; d < devices_; ++d) {
    if (d == device) continue;
    const double siemens = kept * by_emf_(device, d) - taken * by_emf_(devices_ + device, d);
    by_emf_.col(d) -= row_[d] * column_;
    by_emf_(device, d) = siemens;
  }
  by_emf_.col(device) = column_;
  ++steps_;
}

void Reduction::StartAgain() {
  answer_ = first_answer_;
  by_emf_ = first_by_emf_;
  for (std::size_t d = 0; d < laws_.size(); ++d) {
    const Law law = laws_[d];
    laws_[d] = kFirstLaw;
    if (law != kFirstLaw) Replace(static_cast<int>(d), law);
  }
  steps_ = 0;
}

}  // namespace drycrank::harness
