// SPDX-License-Identifier: Apache-2.0
//
// The network as its devices see it. v0: node voltages without devices. X: node voltages per ampere
// through each device. P, S, N: pick branch, supply and input voltages from the nodes. Then
//
//   node voltages      v = v0 - X i
//   branch voltages    P'v = ohm * i + fraction * S'v + emf     (branch.h), one row per device:
//   (diag(ohm) + P'X - diag(fraction) S'X) i = P'v0 - fraction * S'v0 - emf
//
// Kept are the answers [i; S'v; N'v] and their derivatives by each device's emf. A change of a
// device's law alters one row of the equation: Sherman and Morrison's formula (Golub & Van Loan,
// Matrix Computations, 2.1.4), at the cost of one outer product. Its rounding adds up; so after
// some hundred steps all starts again from the first factorization. Rejected: factoring the
// equation at each change, which costs more by the number of devices.
//
// Nothing is allocated after construction.
#ifndef DRYCRANK_HARNESS_REDUCTION_H_
#define DRYCRANK_HARNESS_REDUCTION_H_

#include <Eigen/Dense>
#include <vector>

#include "harness/topology.h"

namespace drycrank::harness {

class Reduction {
 public:
  explicit Reduction(const Topology& topology);

  void Set(int device, const Law& law);

  double BranchVoltage(int device) const;
  double SupplyVoltage(int device) const { return answer_[devices_ + device]; }
  double InputVoltage(int input) const { return answer_[2 * devices_ + input]; }
  double NodeVoltage(int node) const;
  // Volts at the input per volt of the device's emf.
  double Gain(int input, int device) const { return -by_emf_(2 * devices_ + input, device); }

 private:
  void Factor(const Topology& topology);
  void Replace(int device, const Law& law);
  void StartAgain();

  Eigen::Index devices_;
  std::vector<Law> laws_;
  Eigen::VectorXd node_v0_;
  Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor> node_ohm_;  // X
  Eigen::VectorXd first_answer_;
  Eigen::MatrixXd first_by_emf_;
  Eigen::VectorXd answer_;  // [i; S'v; N'v]
  Eigen::MatrixXd by_emf_;  // of answer_, by -emf of each device
  Eigen::VectorXd column_;  // scratch
  Eigen::RowVectorXd row_;  // scratch
  int steps_ = 0;           // since the last start
  int steps_limit_ = 0;
};

}  // namespace drycrank::harness

#endif  // DRYCRANK_HARNESS_REDUCTION_H_
