// SPDX-License-Identifier: Apache-2.0
//
// Which two faults at once are worth predicting in full: every pair is scored in a fraction of a
// microsecond, the best are handed on.
//
//   log weight = log prior a + log prior b - sum cost(cells) - sum cost(other readings)
//
// A cell is the voltage of an analogue input in a case: in the first situation, or in one of the
// most surprising. It is found for both faults together (harness/pairs.h) and held against the
// volts that the reports stand for (a window):
//
//   cost = 1/2 (volts out of the window / sigma in volts)^2, at most 1/2 kCapZ^2      as in rank.h
//
// Everything else is taken from each fault's own prediction: where both move a reading, the better
// of the two counts. So a pair may come out too good, and is judged again; a pair whose parts hide
// each other in what is not analogue can be missed.
#ifndef DRYCRANK_DIAGNOSE_PAIR_SCREEN_H_
#define DRYCRANK_DIAGNOSE_PAIR_SCREEN_H_

#include <span>
#include <vector>

#include "diagnose/hypothesis.h"
#include "diagnose/predict.h"
#include "diagnose/reading.h"
#include "harness/pairs.h"

namespace drycrank::diagnose {

struct FaultPair {
  double log_weight = 0;
  std::size_t a = 0, b = 0;  // indices of hypotheses
};

class PairScreen {
 public:
  // `costs`: of each reading on the healthy bench, zero where it is not compared. `order`:
  // situations, the most surprising first. All must outlive it.
  PairScreen(const profile::Bench& bench, Predictor& predictor,
             std::span<const Hypothesis> hypotheses, const Observation& observed,
             const std::vector<std::vector<double>>& costs, std::span<const std::size_t> order);

  // Best first, at most `most`.
  std::vector<FaultPair> Best(std::size_t most) const;

 private:
  // Volts that a report stands for; `weight` is 1 / sigma in volts.
  struct Window {
    float low_v = 0, high_v = 0, weight = 0;

    float CostAt(float v) const;
  };
  bool WindowOf(std::size_t channel, std::size_t situation, Window& window) const;
  void ChooseCells(std::span<const std::size_t> order);
  void Sweep(std::size_t hypothesis);
  void CellCosts(std::span<const float> volts, std::span<float> costs) const;
  float CostOf(std::span<const float> volts) const;
  float Together(const float* a, const float* b, const float* healthy, std::size_t count) const;

  const profile::Bench& bench_;
  Predictor& predictor_;
  std::span<const Hypothesis> hypotheses_;
  const Observation& observed_;
  const std::vector<std::vector<double>>& costs_;
  std::vector<int> value_readings_, fault_readings_;  // per analogue channel, or -1
  std::vector<std::size_t> cases_;                    // situations
  std::vector<harness::Pairs::Cell> cells_;
  std::vector<Window> windows_;
  std::vector<std::vector<int>> cell_of_;  // per situation and reading: its cell, or -1
  std::vector<float> healthy_cells_;       // cost of each
  float healthy_others_ = 0;               // of all that is no cell
  std::vector<bool> in_pairs_;             // per hypothesis: its volts are found by pairs_
  std::unique_ptr<harness::Pairs> pairs_;
  std::vector<float> cell_costs_;  // per hypothesis and cell
  std::vector<float> others_;      // per hypothesis and reading: what it adds to the cost
  std::vector<float> zeros_;
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_PAIR_SCREEN_H_
