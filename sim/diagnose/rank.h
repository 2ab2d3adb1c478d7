// SPDX-License-Identifier: Apache-2.0
//
// Which fault explains best all that was read, readings that are right included: model-based
// diagnosis (de Kleer, Williams, "Diagnosing multiple faults", Artificial Intelligence 32, 1987;
// Reiter, "A theory of diagnosis from first principles", same volume).
//
//   log weight = log prior + log evidence
//   evidence   = integral L(size) p(size) d size        (solve.h; L: weigh.h, of the display: shown.h)
//   share      = weight / (sum of all weights: healthy, each single fault, pairs, unknown)
//
// "Unknown" is what nobody has thought of, and has a likelihood of its own (unknown.h): a share is
// what remains of certainty with it, and not a comparison within a list. Two faults at once are
// always in the race and pay both priors (race.h).
//
// Faults of which either would explain what the other predicts cannot be told apart by these
// readings: they form one group. Those that cannot be told from a healthy bench accuse nobody:
// their weight counts as healthy.
#ifndef DRYCRANK_DIAGNOSE_RANK_H_
#define DRYCRANK_DIAGNOSE_RANK_H_

#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "diagnose/bus_signs.h"
#include "diagnose/edges_seen.h"
#include "diagnose/fired.h"
#include "diagnose/hypothesis.h"
#include "diagnose/predict.h"
#include "diagnose/reading.h"
#include "diagnose/strange.h"

namespace drycrank::diagnose {

// One reading that speaks for or against a candidate.
struct Clue {
  int situation = 0;
  int reading = 0;
  double observed = 0;
  Prediction predicted = {}, healthy = {};
  double z = 0;  // of observed against predicted
};

struct Candidate {
  Hypothesis hypothesis;    // at its likeliest size
  PredictedRows predicted;  // with the likeliest supply and sensor errors
  double log_weight = 0;
  double share = 0;   // of all weight, [0, 1]
  int surprises = 0;  // readings it does not explain
  double size_spread = 0;  // of ohms: one deviation of ln R by all readings; 0: not known
  double size_low = 0, size_high = 0;  // of ohms: between which all look the same; 0: not known
  // Does it give the edges and the sparks that were seen? Nothing: nobody saw, or they do not
  // count.
  std::optional<bool> edges_right = {}, sparks_right = {};
};

struct Group {
  std::vector<Candidate> members;  // best first
  double share = 0;                // of all weight, [0, 1]
};

struct Diagnosis {
  bool healthy = false;       // nothing on the list, and nothing unknown, is likelier than health
  bool explained = false;     // the first group is likelier than "unknown", and leaves no surprise
  std::vector<Group> groups;  // best first, at most kMostGroups
  double healthy_share = 0;   // faults that change nothing which was read are in it
  // Of those the ones that strain supply and sensors less than health does, likeliest first, at
  // most kMostGroups.
  std::vector<Candidate> like_healthy;
  double unknown_share = 0;  // none of these: not on the list
  PredictedRows healthy_prediction;
};
inline constexpr std::size_t kMostGroups = 12;
inline constexpr double kWithinZ = 1.5, kCapZ = 8;
inline constexpr double kSurprisingZ = 4;
double Cost(double z);

// How far `observed` is from `predicted`, in deviations.
double Surprise(const Reading& reading, double observed, const Prediction& predicted);
// How far what one fault gives is from what another does: 0 where both may give the same.
double Apart(const Reading& reading, const Prediction& a, const Prediction& b);

struct RankOptions {
  bool doubles = true;  // weigh pairs of faults too
  // When something about angles, synchronisation or sparks failed: what was fired. Then it counts,
  // and what the controller may have been told wrong is weighed too. Must outlive the call.
  const FiredSeen* fired = nullptr;
  // Where the trigger inputs saw edges: counts then, too, and where they are off. Must outlive the
  // call.
  const EdgesSeen* edges = nullptr;
  // When something failed: frames of nobody on the bench that may have to do with it (strange.h).
  std::span<const Stranger> strangers = {};
  // What somebody saw of the display.
  std::optional<DisplayLook> look = {};
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

  // What it chooses among, a size that is free at the low end of its range.
  const std::vector<Hypothesis>& hypotheses() const { return hypotheses_; }

 private:
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
  std::vector<Hypothesis>
      with_told_;  // those, what may be told wrong, and more of the wheels; made when it is asked for
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_RANK_H_
