// SPDX-License-Identifier: Apache-2.0
//
// All that could be so, weighed against one observation, and put into groups of what looks the same
// (rank.h).
#ifndef DRYCRANK_DIAGNOSE_RACE_H_
#define DRYCRANK_DIAGNOSE_RACE_H_

#include <cmath>
#include <optional>
#include <set>
#include <span>
#include <vector>

#include "diagnose/edges.h"
#include "diagnose/fired.h"
#include "diagnose/rank.h"
#include "diagnose/shown.h"
#include "diagnose/solve.h"
#include "diagnose/suspects.h"
#include "diagnose/told_suspects.h"
#include "diagnose/unheard.h"
#include "diagnose/wheel_suspects.h"

namespace drycrank::diagnose {

inline bool IsLayout(const Hypothesis& h) { return h.faults[0].Is<profile::fault::Layout>(); }
// Is all of it solved, and not fitted in a way of its own?
inline bool IsSolved(const Hypothesis& h) {
  return !IsToldByAngle(h) && h.kind != kRunout && h.kind != kStrangeNode && h.kind != "comes and goes" &&
         h.kind != kOtherCurve && !IsLayout(h);
}

// Two given faults at once, over what their priors as single faults say.
inline const double kLogTwoAtOnce = std::log(2 * kPriorDouble / (kPriorSingle * kPriorSingle));
// d'S^-1 d of what looks the same; and of what a healthy bench may give: it is farther off once in
// a thousand times, and no name is taken for that.
inline constexpr double kAlikeChi2 = 6, kLikeHealthyChi2 = 11;

// Of climbing to a size: from a first look, and from where it is nearly right.
inline constexpr int kRounds = 5, kLastRounds = 3;

class Race {
 public:
  // All must outlive it.
  // Of what was read without these channels (facts.h), where some are given.
  Race(Predictor& predictor, std::span<const Hypothesis> suspects, const Observation& observed,
       const std::set<int>& without = {}, const RankOptions& options = {});

  Diagnosis Run(const RankOptions& options);

 private:
  struct Runner {
    Fit wiring;
    Shown::Fit shown;
    Fired::Fit fired = {};
    Edges::Fit edges = {};
    Sensitivities columns;         // its own sensitivities; empty: those of the healthy bench
    double log_area_of_other = 0;  // of two faults, the other's
    double log_weight = 0;
  };
  static bool IsLikelier(const Runner& a, const Runner& b);
  static double& AreaOfLast(Runner& runner);  // of the fault, or of the second of two
  void Healthy();
  void Layouts();
  void MovedSparks();
  void MovedCams();
  void MovedEdges();
  void StrangeNodes();
  std::set<std::string> NeverCame(const std::string& bus) const;
  void LeaveOut(const Runner& runner, PredictedRows& predicted) const;
  void AddAsItIs(const Hypothesis& hypothesis, double log_area);
  std::vector<const Hypothesis*> CheapFirst() const;
  std::vector<Runner> FirstLooks() const;
  static bool LookedAlike(const Fit& a, const Fit& b);
  bool FinishAsAnother(Fit& fit, std::span<const std::pair<Fit, std::size_t>> finished) const;
  void TryAll();
  void OtherCurves(const Runner& on, const Solver& solver);
  void WeighAsItIs(Runner& runner, const Sensitivities& columns) const;
  void Singles();
  void ComingAndGoing(const Runner& on, const Solver& solver);
  void OhmsComingAndGoing();
  std::vector<std::size_t> MostSurprising() const;
  std::optional<double> SizeThatGives(const Hypothesis& hypothesis, const Fact& fact) const;
  double OffAt(const Hypothesis& hypothesis, double x, const Fact& fact) const;
  std::vector<bool> ReplacedBy(const ValueRows& rows, const Runner& on) const;
  Runner InSomeSteps(const Hypothesis& hypothesis, const ValueRows& rows, const Runner& on) const;
  void Doubles();
  std::vector<int> WrongChannels() const;
  void FirstsByChannel(std::vector<Runner>& firsts) const;
  std::optional<Runner> BestOfAll();
  std::vector<Fit> LikeTheOther(const Runner& pair, std::size_t kept) const;
  std::vector<Runner> WiresByReadings() const;
  std::vector<Edges::Solved> WheelsByEdges() const;
  void WithAWheel();
  void Alternatives();
  void DropRepeated();
  bool IsWorthASecond(const Runner& first) const;
  void AddSecond(const Runner& first);
  Runner Pair(const Runner& first, const Solver& on_first, Fit second) const;
  void Weigh(Runner& runner) const;
  double EvidenceOf(const Runner& runner) const;
  double LeastOf(const Runner& runner, double lead) const;
  const Sensitivities& ColumnsOf(const Runner& runner) const;
  void SetOwnColumns(Runner& runner) const;
  bool Alike(const Runner& a, const Runner& b, double most_chi2) const;
  bool IsLikeHealthy(const Runner& runner) const;
  int SurprisesOf(const Runner& runner) const;
  Candidate CandidateOf(const Runner& runner, double share);
  bool StrainsLess(const Runner& runner) const;
  void Group(Diagnosis& diagnosis);

  Predictor& predictor_;
  std::span<const Hypothesis> suspects_;
  const Observation& observed_;
  Facts facts_;
  Nuisances nuisances_;
  Weigher weigher_;
  Solver solver_;
  Shown shown_;
  Fired fired_;
  Edges edges_;
  Strange strange_;
  DisplayHeard display_heard_;
  Runner healthy_;
  double unknown_ = 0;  // log weight
  double disturbed_ = -1e300;  // log likelihood of a position of which chance makes anything
  std::vector<Runner> runners_;
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_RACE_H_
