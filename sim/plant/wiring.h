// SPDX-License-Identifier: Apache-2.0
//
// The harness as the plant sees it: values of devices in, volts at the controller's inputs out. A run
// has a network of its own; a diagnosis answers from a change of the healthy one
// (diagnose/held_wiring.h).
#ifndef DRYCRANK_PLANT_WIRING_H_
#define DRYCRANK_PLANT_WIRING_H_

#include <span>

#include "harness/harness.h"
#include "plant/sources.h"
#include "profile/bench.h"

namespace drycrank::plant {

class Wiring {
 public:
  virtual ~Wiring() = default;
  virtual void SetFaults(Faults faults) = 0;
  // As harness::Harness, the next six.
  virtual void Solve(std::span<const double> values, std::span<double> input_v) = 0;
  virtual void SolveAt(std::span<const double> values, std::span<const int> /*inputs*/,
                       std::span<double> input_v) {
    Solve(values, input_v);
  }
  virtual void Transfer(int device, std::span<double> gain) const = 0;
  virtual double ControllerSupply() const = 0;
  virtual double Reference(int index) const = 0;
  // How often no state was found that agrees with itself, all faults so far.
  virtual int unsettled_count() const = 0;
};

class NetworkWiring : public Wiring {
 public:
  explicit NetworkWiring(const profile::Bench& bench) : bench_(bench), harness_(bench, {}) {}

  void SetFaults(Faults faults) override {
    unsettled_before_ += harness_.unsettled_count();
    harness_ = harness::Harness(bench_, faults);
  }
  void Solve(std::span<const double> values, std::span<double> input_v) override {
    harness_.Solve(values, input_v);
  }
  void SolveAt(std::span<const double> values, std::span<const int> inputs,
               std::span<double> input_v) override {
    harness_.SolveAt(values, inputs, input_v);
  }
  void Transfer(int device, std::span<double> gain) const override {
    harness_.Transfer(device, gain);
  }
  double ControllerSupply() const override { return harness_.ControllerSupply(); }
  double Reference(int index) const override { return harness_.Reference(index); }
  int unsettled_count() const override { return unsettled_before_ + harness_.unsettled_count(); }

 private:
  const profile::Bench& bench_;
  harness::Harness harness_;
  int unsettled_before_ = 0;  // of the networks before this one
};

}  // namespace drycrank::plant

#endif  // DRYCRANK_PLANT_WIRING_H_
