// SPDX-License-Identifier: Apache-2.0
//
// All that could be so, weighed against one observation, and put into groups of what looks the same
// (rank.h).
#ifndef DRYCRANK_DIAGNOSE_RACE_H_
#define DRYCRANK_DIAGNOSE_RACE_H_

#include <span>
#include <vector>

#include "diagnose/rank.h"
#include "diagnose/shown.h"
#include "diagnose/solve.h"

namespace drycrank::diagnose {

class Race {
 public:
  // All must outlive it.
  Race(Predictor& predictor, std::span<const Hypothesis> suspects, const Observation& observed);

  Diagnosis Run(const RankOptions& options);

 private:
  struct Runner {
    Fit wiring;
    Shown::Fit shown;
    Sensitivities columns;         // its own sensitivities; empty: those of the healthy bench
    double log_area_of_other = 0;  // of two faults, the other's
    double log_weight = 0;
  };
  static bool IsLikelier(const Runner& a, const Runner& b);
  void Healthy();
  void Layouts();
  void TryAll();
  void OtherCurves();
  void WeighAsItIs(Runner& runner) const;
  bool IsExplained() const;
  void Singles();
  void ComingAndGoing();
  Runner InSomeSteps(const Hypothesis& hypothesis, const ValueRows& rows) const;
  void Doubles();
  bool IsWorthASecond(const Runner& first) const;
  void AddSecond(const Runner& first);
  Runner Pair(const Runner& first, const Solver& on_first, Fit second) const;
  void Weigh(Runner& runner) const;
  double LeastOf(const Runner& runner, double lead) const;
  const Sensitivities& ColumnsOf(const Runner& runner) const;
  void SetOwnColumns(Runner& runner) const;
  bool Alike(const Runner& a, const Runner& b) const;
  Candidate CandidateOf(const Runner& runner, double share);
  void Group(Diagnosis& diagnosis);

  Predictor& predictor_;
  std::span<const Hypothesis> suspects_;
  Facts facts_;
  Nuisances nuisances_;
  Weigher weigher_;
  Solver solver_;
  Shown shown_;
  Runner healthy_;
  double unknown_ = 0;  // log weight
  std::vector<Runner> runners_;
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_RACE_H_
