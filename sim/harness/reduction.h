// SPDX-License-Identifier: Apache-2.0
//
// The network as its devices see it while a run goes on, in two steps. Devices whose law moves
// slowly (resistors, outputs of a sensor) are part of the matrix of nodal analysis (network.h),
// which is factored again when they moved. What lies between the devices is condensed
// (condensed.h). Those that switch at every tooth, and coils, are ports; their law has no fraction
// of a supply:
//
//   node voltages      v = v0 - X i                 v0: all ports open. X: per ampere through each
//   branch voltages    P'v = ohm * i + emf          (branch.h), one row per port, P: its two pins:
//   (diag(ohm) + P'X) i = P'v0 - emf                i = Y (P'v0 - emf), Y the matrix's inverse
//   what is read       N'v = N'v0 - N'X i           N: inputs, then supplies of outputs
//
// A port that switches alters one row of the matrix, by d_ohm on its diagonal, and the right-hand
// side by d_emf: Sherman and Morrison's formula (Golub & Van Loan, Matrix Computations, 2.1.4), at
// the cost of one outer product as large as there are ports. With p the port, Y_p its column and
// y_p its row of Y,
//
//   Y' = Y - loop d_ohm Y_p y_p      i' = i - loop (d_emf + d_ohm i_p) Y_p
//   loop = 1 / (1 + d_ohm Y_pp)
//
// Its rounding adds up; so after ten thousand steps all is solved from the laws again.
//
// A tooth moves every row of N'v a little, and few are asked for: what is read is computed then. Of
// supplies it is mostly enough that none has moved by more than |N'X| |i - i_marked|.
// Rejected: every device a port (each change costs the square of the number of devices, and of 256
// sensors all change at every sample), and none (each tooth costs a factorization).
//
// Nothing is allocated after construction.
#ifndef DRYCRANK_HARNESS_REDUCTION_H_
#define DRYCRANK_HARNESS_REDUCTION_H_

#include <Eigen/Dense>
#include <Eigen/Sparse>
#include <array>
#include <cstddef>
#include <span>
#include <vector>

#include "harness/condensed.h"
#include "harness/sparse_lu.h"
#include "harness/topology.h"
#include "types/nth.h"

namespace drycrank::harness {

class Reduction {
 public:
  explicit Reduction(const Topology& topology);

  void Set(int device, const Law& law);
  // What is read below is as of the last one.
  void Update();

  // REQUIRES: a transistor, a diode or an EMF.
  double BranchVoltage(int device) const;
  // REQUIRES: an output (a device with states, branch.h).
  double SupplyVoltage(int device) const;
  // REQUIRES: volts.size() is that of the inputs.
  void ReadInputs(std::span<double> volts) const;
  // The places of all others stay as they are. Cheap where the same ones are read again.
  void ReadInputs(std::span<const int> inputs, std::span<double> volts);
  // No supply has moved by more since MarkSupplies: volts, infinite where that cannot be said.
  double SuppliesMoved() const;
  void MarkSupplies();
  // Of any node of the topology. Of one that was condensed, all are reckoned at once.
  double NodeVoltage(int node) const;
  // Volts at each input per volt of the device's emf. REQUIRES: gain.size() is that of the inputs.
  void Gain(int device, std::span<double> gain);

 private:
  // Where a device's conductance is entered: rows plus and minus, columns plus, minus, supply and
  // ground; -1 for the reference.
  struct Stamp {
    int device = 0;
    std::array<std::array<int, 4>, 2> at{{{-1, -1, -1, -1}, {-1, -1, -1, -1}}};
  };

  NodePair PortNodes(Eigen::Index port) const {
    const Branch& branch = Nth(branches_, Nth(ports_, port));
    return {branch.plus, branch.minus};
  }
  const NodePair& Seen(Eigen::Index row) const { return Nth(seen_, row); }
  Stamp StampOf(int device);
  double StayedVoltage(Eigen::Index row) const {
    return node_v_(row, 0) - node_v_.row(row).tail(amperes_.size()).dot(amperes_);
  }
  double SeenVoltage(Eigen::Index row) const {
    return seen_v0_[row] - seen_ohm_.row(row).dot(amperes_);
  }
  void PickRows(std::span<const int> inputs);
  void Enter(const Stamp& stamp);
  void Refresh();
  void ReduceToPorts();
  void Replace(Eigen::Index port, const Law& before, const Law& after);

  Condensed network_;
  std::vector<Branch> branches_;  // their nodes by the numbers of those that stayed
  std::vector<Law> laws_;
  std::vector<int> ports_;       // their devices
  std::vector<int> port_of_;     // per device, -1 none
  std::vector<NodePair> seen_;   // N: inputs, then supplies
  Eigen::Index inputs_;          // of them
  std::vector<int> supply_row_;  // per device, -1 none

  Eigen::SparseMatrix<double> fixed_;  // its numbers, at the places of the devices as well
  std::vector<Stamp> stamps_;
  std::vector<double> values_;  // fixed_ and the devices
  SparseLu lu_;

  Eigen::MatrixXd node_v_;      // columns v0, X; row of a node: one less than its new number
  Eigen::VectorXd seen_v0_;     // N'v0
  Eigen::MatrixXd seen_ohm_;    // N'X
  Eigen::MatrixXd picked_ohm_;  // of it the rows of inputs that are read again and again ...
  Eigen::VectorXd picked_v_;    // ... scratch for them
  std::vector<int> picked_;     // ... which inputs they are
  Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor> siemens_;  // Y
  Eigen::VectorXd amperes_;                                                         // i
  Eigen::VectorXd marked_a_;  // i when the supplies were marked
  Eigen::VectorXd reach_;     // per port, the largest of N'X at a supply, without sign
  Eigen::VectorXd nodes_;     // scratch
  Eigen::VectorXd column_;    // scratch
  Eigen::RowVectorXd row_;    // scratch
  bool is_stale_ = true;      // a law in the matrix changed
  bool is_marked_ = false;    // and the matrix is that of the mark
  int steps_ = 0;             // since the last refresh
  mutable std::vector<double> stayed_v_, all_v_;  // of nodes, by new and by old numbers
  mutable bool is_recovered_ = false;             // all_v_ is as of the last change
};

}  // namespace drycrank::harness

#endif  // DRYCRANK_HARNESS_REDUCTION_H_
