// SPDX-License-Identifier: Apache-2.0
//
// Which fault explains best all that was observed, readings that are right included: model-based
// diagnosis (de Kleer, Williams, "Diagnosing multiple faults", Artificial Intelligence 32, 1987;
// Reiter, "A theory of diagnosis from first principles", same volume).
//
//   log weight = log prior - sum cost(z)
//   z          = |observed - predicted| / sigma, of a band from its nearer end; for a state that
//                differs, or a reading that came where none should (or did not), a fixed surprise;
//                within a band, a little: much would have fitted
//   cost(z)    = 0 up to kWithinZ, then 1/2 (z - kWithinZ)^2, at most 1/2 kCapZ^2
//
// A sensor that is off by its tolerance is off in every situation alike: as noise, sixty such
// readings would outvote a fault. So what lies within the tolerance costs nothing. Faults of which
// either would explain what the other predicts cannot be told apart by these readings: they form
// one group.
//
// Situations are tried in the order of how surprising they are on a healthy bench. What a fault has
// left unexplained so far only grows, so that most are given up after one or two of them: those
// that could at best be e^60 times less likely than the best.
//
// The cap keeps one wild reading from outvoting all others. A group explains the observation when
// it leaves no reading surprising; when none does, the answer is "none of these".
#ifndef DRYCRANK_DIAGNOSE_RANK_H_
#define DRYCRANK_DIAGNOSE_RANK_H_

#include <string>
#include <vector>

#include "diagnose/hypothesis.h"
#include "diagnose/predict.h"
#include "diagnose/reading.h"

namespace drycrank::diagnose {

// One reading that speaks for or against a candidate.
struct Clue {
  int situation = 0;
  int reading = 0;
  double observed = 0;
  Prediction predicted, healthy;
  double z = 0;  // of observed against predicted
};

struct Candidate {
  Hypothesis hypothesis;
  PredictedRows predicted;
  double log_weight = 0;
  int surprises = 0;  // readings it does not explain
};

struct Group {
  std::vector<Candidate> members;  // best first
  double share = 0;                // of the weight of all groups, [0, 1]
};

struct Diagnosis {
  bool healthy = false;       // nothing is surprising without a fault
  bool explained = false;     // the first group leaves nothing surprising
  std::vector<Group> groups;  // best first, at most kMostGroups; none when healthy
  PredictedRows healthy_prediction;
};
inline constexpr std::size_t kMostGroups = 12;
inline constexpr double kSurprisingZ = 4;
inline constexpr double kWithinZ = 1.5, kCapZ = 8;
double Cost(double z);

// How far `observed` is from `predicted`, in deviations.
double Surprise(const Reading& reading, double observed, const Prediction& predicted);
// How far what one fault gives is from what another does: 0 where both may give the same.
double Apart(const Reading& reading, const Prediction& a, const Prediction& b);

struct RankOptions {
  bool doubles = true;  // try pairs of faults when no single one explains
};

class Ranker {
 public:
  Ranker(const profile::Bench& bench, Predictor& predictor);

  Diagnosis Rank(const Observation& observed, const RankOptions& options = {});
  // Readings that the candidate explains and health does not (for), and those it leaves open.
  std::vector<Clue> For(const Diagnosis& diagnosis, const Candidate& candidate,
                        const Observation& observed) const;
  std::vector<Clue> Against(const Diagnosis& diagnosis, const Candidate& candidate,
                            const Observation& observed) const;

  const std::vector<Hypothesis>& hypotheses() const { return hypotheses_; }

 private:
  class Scoring;

  Candidate Judge(const Hypothesis& hypothesis, const Observation& observed);
  std::vector<Hypothesis> Partners(const Scoring& scoring) const;
  void TryDoubles(const Scoring& scoring, std::vector<Candidate>& candidates,
                  const Observation& observed);
  std::vector<Group> GroupsOf(std::vector<Candidate> candidates) const;
  bool Alike(const PredictedRows& a, const PredictedRows& b) const;
  bool IsCompared(std::size_t situation, std::size_t reading) const;
  Clue ClueAt(const Diagnosis& diagnosis, const Candidate& candidate, const Observation& observed,
              std::size_t situation, std::size_t reading) const;
  // Of all that is compared and that `keep` keeps.
  template <class Keep>
  std::vector<Clue> Clues(const Diagnosis& diagnosis, const Candidate& candidate,
                          const Observation& observed, const Keep& keep) const;

  const profile::Bench& bench_;
  Predictor& predictor_;
  std::vector<Hypothesis> hypotheses_;
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_RANK_H_
