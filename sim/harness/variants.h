// SPDX-License-Identifier: Apache-2.0
//
// One bench and many faults: the healthy network is solved once, and each fault is a change of low
// rank to that solution. What harness.h finds anew for each set of faults, this finds for
// thousands.
//
//   v = v0 - X i - W j                  node voltages. v0: without devices; X, W: what an ampere
//                                       through each device, each port of the fault takes from them
//   P'v = ohm i + fraction S'v + emf    each device (branch.h), P: plus, minus, S: supply, ground
//   M^-1 j = U'v                        each port (edit.h)
//
// Solved once, for the device values that most cases share: the answers a = [i; N'v], N: S, inputs,
// controller supply, references; and by how much they fall per volt of EMF in a device (B) and per
// ampere through a port (R), as the port's own voltage does (C, Z):
//
//   Y  = (diag(ohm) + P'X - fraction S'X)^-1
//   a0 = [Y (P'v0 - fraction S'v0 - emf); N'v0 - N'X i0]      B = [Y; -N'X Y]
//   R  = [Y T; N'W - N'X Y T], T = P'W - fraction S'W         C = -U'X Y      Z = U'W - U'X Y T
//
// A case is then, for the devices whose law differs from that of the first case, and the ports,
//
//   a = a0 - B e - R j       e = d_ohm i + d_fraction S'v + d_emf
//                            (Z + M^-1) j = u0 - C e,   u0 = U'(v0 - X i0)
//
// a system of the fault's rank and the number of devices that changed (Woodbury's formula; Golub &
// Van Loan, Matrix Computations, 2.1.4). Devices' states (branch.h) are tried until they agree,
// beginning, as in harness.h, from those of power-up: so the same is kept for the network with all
// outputs at rest and without supply.
#ifndef DRYCRANK_HARNESS_VARIANTS_H_
#define DRYCRANK_HARNESS_VARIANTS_H_

#include <Eigen/Dense>
#include <array>
#include <map>
#include <memory>
#include <span>
#include <unordered_map>
#include <utility>
#include <vector>

#include "harness/edit.h"
#include "harness/small_system.h"
#include "harness/topology.h"
#include "profile/bench.h"

namespace drycrank::harness {

class Variants {
 public:
  // `values`: of all devices in the case that most others are like (harness.h).
  // Parts are devices here whose value is no matter.
  // `also`: more pairs of nodes of MakeTopology(bench, {}) whose voltages are answered.
  Variants(const profile::Bench& bench, std::span<const double> values,
           std::span<const NodePair> also = {});
  Variants(Topology healthy, std::span<const double> values, std::span<const NodePair> also);

  int device_count() const { return static_cast<int>(topology_.device_count); }
  int input_count() const { return static_cast<int>(topology_.inputs.size()); }
  const Topology& topology() const { return topology_; }

 private:
  friend class Variant;

  // The healthy network with each device at one law.
  struct Point {
    std::vector<double> values;
    std::vector<State> states;
    std::vector<Law> laws;
    Eigen::VectorXd answer;  // a0
    Eigen::MatrixXd by_emf;  // B
  };
  // What an ampere through a port does at a point, whatever the port's own ohm.
  struct Felt {
    Eigen::VectorXd by_ampere;  // column of R; as power comes up, of its currents and supplies alone
    double volts = 0;           // of u0
    double ohm = 0;             // of Z, the port's own
  };
  struct Place {
    Edit::Port port;             // of it the nodes alone
    Eigen::VectorXd node_v;      // column of W; none where the port is alone in a large harness
    Eigen::VectorXd device_ohm;  // row of U'X
    Eigen::VectorXd by_emf;      // row of C in the first case
    Felt off, first;
  };
  using Places = std::vector<std::shared_ptr<const Place>>;
  // Of a port that is alone: what must not be a difference of large numbers.
  struct Alone {
    struct Own {
      double volts = 0, ohm = 0;
    } off, first;
  };
  // Columns of R per ampere into one node, out of the reference.
  struct AtNode {
    Eigen::VectorXd off, first;
  };
  using Ends = std::array<int, 4>;
  // Z + M^-1 and u0 of an edit at a point.
  struct Ports {
    SmallSystem ohm;
    std::vector<double> volts;
  };

  void Reduce(Point& point) const;
  std::vector<State> StatesAt(const Point& point) const;
  Eigen::VectorXd BranchVolts(const Point& point, const Eigen::VectorXd& node_v) const;
  Eigen::VectorXd ByAmpere(const Point& point, const Eigen::VectorXd& node_v,
                           Eigen::Index rows) const;
  Eigen::VectorXd NodeVolts(const NodePair& nodes, const NodePair& less) const;
  Eigen::VectorXd DeviceOhm(const Edit::Port& port) const;
  Eigen::VectorXd ByEmf(const Eigen::VectorXd& device_ohm) const;
  void SetOwn(const Point& point, const Place& place, Felt& felt) const;
  std::shared_ptr<const Place> PlaceOf(const Edit::Port& port) const;
  std::shared_ptr<const Place> PlaceOfAlone(const Edit::Port& port) const;
  Alone OwnOf(const Edit::Port& port, const Eigen::VectorXd& device_ohm) const;
  const AtNode& At(int node) const;
  void SetPorts(const Edit& edit, const Places& places, Felt Place::*at, Ports& ports) const;

  Topology topology_;
  NodalSolver solver_;
  Eigen::Index devices_;
  Eigen::Index first_also_;     // row of the answers
  std::vector<NodePair> seen_;  // N: behind the currents, rows of the answers
  Eigen::VectorXd node_v0_;     // v0
  // X, by rows.
  Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor> node_ohm_;
  Eigen::MatrixXd ohm_to_emf_;  // Y' of the first case
  Point off_;                   // as power comes up
  Point first_;                 // the case that most others are like
  Eigen::VectorXd most_by_emf_;  // of each column of its B, the largest
  // One place is asked for again with each size of a fault there. Forgotten when there are too many.
  mutable std::map<Ends, std::shared_ptr<const Place>> known_;
  // In a large harness, whose places are more than are kept: R is linear in the currents at the nodes.
  mutable std::map<Ends, Alone> alone_;
  mutable std::unordered_map<int, AtNode> at_node_;
};

// The network with one edit at a time. The Variants must outlive it.
class Variant {
 public:
  explicit Variant(const Variants& base);

  // The healthy network with these changes, and no others.
  void Put(const Edit& edit);
  // As Harness::Solve; false: no states agree, and the answers are those of the last ones tried.
  // REQUIRES: values.size() == device_count().
  bool Solve(std::span<const double> values);

  // A case as the last Solve left it.
  struct Held {
    std::vector<int> changed;  // devices whose law is not the first case's, in order
    std::vector<double> emf;   // e of each
    std::vector<State> states;
    Eigen::VectorXd answer;
  };
  Held Hold() const;
  // What the edit shifts in the case solved last, of which `healthy` is the same without the edit but
  // for the values of the devices `moved`: that SolveShifted is compared with. Until the next Put.
  // REQUIRES: that Solve was true.
  void Mark(const Held& healthy, std::span<const int> moved);
  bool is_marked() const { return !mark_.rows.empty(); }
  // Solve, in a case of which `healthy` is the same without the edit: of what the edit shifted when it
  // was marked, and of nothing else. False: it shifts more here, or a state is another; ask Solve.
  bool SolveShifted(const Held& healthy, std::span<const double> values);
  // Whose voltages were shifted.
  std::span<const int> shifted_inputs() const { return mark_.inputs; }

  // Of the last Solve.
  double InputVoltage(int input) const { return answer_[2 * devices() + input]; }
  double ControllerSupply() const { return answer_[2 * devices() + base_->input_count()]; }
  double Reference(int index) const {
    return answer_[2 * devices() + base_->input_count() + 1 + index];
  }
  // Between a pair of `also`.
  double Also(int index) const { return answer_[base_->first_also_ + index]; }
  // Of the last Solve, through the edit's first port; without one 0.
  double FirstPortAmperes() const;
  // Volts at each input per volt of the device's EMF, as Harness::Transfer.
  void Transfer(int device, std::span<double> gain);

 private:
  Eigen::Index devices() const { return base_->devices_; }
  // What is added to a device's law (d_ohm, d_fraction, d_emf), times `weight`.
  struct Step {
    double weight, ohm, fraction, emf;
  };
  Step StepOf(int device) const;
  Law LawAt(std::size_t device) const;
  void PowerUp(const Edit& edit);
  void FindChanged();
  void SolveOnce();
  void EnterDevices();
  void EnterPorts();
  void SolveSystem();
  void SetCurrent(std::size_t k);
  bool AnyStateChanged();
  // What Mark notes.
  struct Shifts {
    std::vector<int> devices;     // that the edit, or the case itself, changes, in order
    std::vector<double> emf;      // e of each, over that of the healthy network
    std::vector<double> amperes;  // j
    std::vector<double> elsewhere_by_emf, elsewhere_by_ampere;  // most of their columns in other rows
    std::vector<Eigen::Index> rows;                             // of the answers: shifted
    std::vector<int> inputs;                                    // those among them
    std::vector<std::pair<int, State>> states;                  // that are not the healthy network's
    std::vector<int> stateful;  // shifted devices that have states
  };
  void MarkDevices(const Held& healthy, std::span<const int> moved);
  void MarkRows(const Held& healthy);
  void Guess(const Held& healthy, std::span<const double> values);
  double ShiftElsewhere() const;
  void AnswerShifted(const Held& healthy);
  bool StatesHold() const;

  const Variants* base_;
  std::vector<bool> fitted_;
  Variants::Places places_;  // per port
  std::vector<bool> known_;  // per port: its current is
  Variants::Ports ports_;
  std::vector<double> values_;
  std::vector<State> states_, start_;
  std::vector<Law> laws_;
  std::vector<int> changed_;     // devices whose law is not the first case's
  std::vector<Step> steps_;      // theirs
  SmallSystem system_;           // of the unknowns
  std::vector<double> unknown_;  // [e; j]
  std::vector<double> felt_;     // scratch
  Eigen::VectorXd answer_;
  Shifts mark_;
  std::vector<int> all_;      // scratch: devices of the mark and of the case
  std::vector<double> more_;  // scratch: e of each, over that of the healthy network
};

}  // namespace drycrank::harness

#endif  // DRYCRANK_HARNESS_VARIANTS_H_
