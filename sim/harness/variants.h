// SPDX-License-Identifier: Apache-2.0
//
// One bench and many faults: the healthy network is solved once, and each fault is a change of low
// rank to that solution. What harness.h finds anew for each set of faults, this finds for
// thousands.
//
// Solved once, for the device values that most cases share: answers a = [i; S'v; N'v; supply;
// references], and by how much each falls per volt of EMF in a device (B) and per ampere through a
// port of the fault (R); the port's own voltage by the same (C, Z). A case is then
//
//   a  = a0 - B e - R j          v_port = v0 - C e - Z j
//   e  = d_ohm i + d_fraction s + d_emf      for each device whose law differs from the first case
//   M^-1 j = v_port                          for each port (edit.h)
//
// a system of the fault's rank and the number of devices that changed (Woodbury's formula; Golub &
// Van Loan, Matrix Computations, 2.1.4). Devices' states (branch.h) are tried until they agree,
// beginning, as in harness.h, from those of power-up: so the same is kept for the network with all
// outputs at rest and without supply.
#ifndef DRYCRANK_HARNESS_VARIANTS_H_
#define DRYCRANK_HARNESS_VARIANTS_H_

#include <Eigen/Dense>
#include <optional>
#include <span>
#include <vector>

#include "harness/edit.h"
#include "harness/topology.h"
#include "profile/bench.h"

namespace drycrank::harness {

class Variants {
 public:
  // `values`: of all devices in the case that most others are like (harness.h).
  Variants(const profile::Bench& bench, std::span<const double> values);

  int device_count() const { return static_cast<int>(devices_); }
  int input_count() const { return static_cast<int>(topology_.inputs.size()); }
  const Topology& topology() const { return topology_; }

 private:
  friend class Variant;
  friend class Pairs;

  // The healthy network with each device at one law.
  struct Point {
    std::vector<State> states;
    std::vector<Law> laws;
    Eigen::VectorXd answer;  // a0
    Eigen::MatrixXd by_emf;  // B
  };
  // What an edit's ports do there.
  struct Response {
    Eigen::MatrixXd by_port;      // R
    Eigen::MatrixXd port_by_emf;  // C
    Eigen::MatrixXd port_ohm;     // Z + 1/M
    Eigen::VectorXd port_v;       // v0
  };

  void Reduce(Point& point) const;
  // A column for each port, volts of the network without devices per ampere.
  Eigen::MatrixXd ResponseOf(const Edit& edit) const;
  std::vector<State> StatesAt(const Point& point) const;
  Response Respond(const Point& point, const Edit& edit, const Eigen::MatrixXd& node_v) const;

  Topology topology_;
  NodalSolver solver_;
  Eigen::Index devices_;
  std::vector<NodePair> seen_;  // behind the currents, rows of the answers
  Eigen::VectorXd node_v0_;     // without devices
  Eigen::MatrixXd node_ohm_;    // X: volts per ampere through each device
  Point off_;                   // as power comes up
  Point first_;                 // the case that most others are like
};

// The network with one edit. The Variants must outlive it.
class Variant {
 public:
  Variant(const Variants& base, const Edit& edit);

  // As Harness::Solve; false: no states agree, and the answers are those of the last ones tried.
  // REQUIRES: values.size() == device_count().
  bool Solve(std::span<const double> values);

  // Of the last Solve.
  double InputVoltage(int input) const { return answer_[2 * devices() + input]; }
  double ControllerSupply() const { return answer_[2 * devices() + base_->input_count()]; }
  double Reference(int index) const {
    return answer_[2 * devices() + base_->input_count() + 1 + index];
  }
  // Volts at the input per volt of the device's EMF, as Harness::Transfer.
  double Gain(int input, int device) const;

 private:
  friend class Pairs;

  Eigen::Index devices() const { return base_->devices_; }
  // What is added to a device's law, weighted.
  struct Step {
    double weight, ohm, fraction, emf;
  };
  Step StepOf(int device) const;
  Law LawAt(std::size_t device) const;
  void PowerUp(const Variants::Response& response);
  void FindChanged();
  void SolveOnce();
  bool AnyStateChanged();

  const Variants* base_;
  std::vector<bool> fitted_;
  Variants::Response response_;
  std::vector<double> values_;
  std::vector<State> states_, start_;
  std::vector<Law> laws_;
  std::vector<int> changed_;  // devices whose law is not the first case's
  Eigen::MatrixXd system_;
  Eigen::VectorXd unknown_;  // [e; j]
  Eigen::PartialPivLU<Eigen::MatrixXd> factors_;
  Eigen::VectorXd answer_;
};

}  // namespace drycrank::harness

#endif  // DRYCRANK_HARNESS_VARIANTS_H_
