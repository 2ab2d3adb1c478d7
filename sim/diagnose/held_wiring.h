// SPDX-License-Identifier: Apache-2.0
//
// A harness in a situation that holds, as the plant's wiring. Its devices differ from one solve to
// the next only in which outputs conduct: each combination is solved once and its answer kept.
#ifndef DRYCRANK_DIAGNOSE_HELD_WIRING_H_
#define DRYCRANK_DIAGNOSE_HELD_WIRING_H_

#include <span>
#include <vector>

#include "diagnose/electrical.h"
#include "plant/wiring.h"
#include "profile/bench.h"

namespace drycrank::diagnose {

class HeldWiring : public plant::Wiring {
 public:
  // Bench and model must outlive it. Nobody else solves the model meanwhile.
  HeldWiring(const profile::Bench& bench, ElectricalModel& model) : bench_(bench), model_(model) {}

  void SetFaults(plant::Faults) override {}  // those of the model
  void Solve(std::span<const double> values, std::span<double> input_v) override;
  // Of the last Solve, as the next two.
  void Transfer(int device, std::span<double> gain) const override;
  double ControllerSupply() const override { return answers_[last_].supply_v; }
  double Reference(int index) const override;
  int unsettled_count() const override { return 0; }  // nobody asks

 private:
  struct Answer {
    std::vector<double> values, input_v, reference_v;
    double supply_v = 0;
    std::vector<std::vector<double>> gains;  // per trigger; empty for one that is no coil
  };
  Answer SolveAnew(std::span<const double> values);

  const profile::Bench& bench_;
  ElectricalModel& model_;
  std::vector<Answer> answers_;
  std::size_t last_ = 0;
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_HELD_WIRING_H_
