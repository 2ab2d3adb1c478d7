// SPDX-License-Identifier: Apache-2.0
#include "diagnose/rank.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <utility>

#include "diagnose/electrical.h"
#include "diagnose/pair_screen.h"

namespace drycrank::diagnose {
namespace {

constexpr double kOtherStateZ = kWithinZ + 6, kSilenceZ = kWithinZ + 8;
constexpr double kBandZ = kWithinZ + 1.5;  // it fits, but much would
constexpr double kAlikeCost = 1;
constexpr double kShareOfValue = 0.004;  // deviations grow with what a fault magnifies
// Candidates with a quantity that are refined.
constexpr std::size_t kRefined = 10;
constexpr double kWorth = 60;           // less likely than the best by e to this: given up
constexpr std::size_t kFirstLooks = 2;  // situations by which the faults are put in order
constexpr std::size_t kPairsJudged = 256, kMostPartners = 600;
constexpr double kTwoAtOnce = 1e-2;  // two faults at once, over what their priors say
constexpr double kGolden = 0.618033988749895;
constexpr int kRefineSteps = 10;

constexpr double kImpossible = -std::numeric_limits<double>::infinity();

bool IsLogarithmic(Quantity quantity) {
  return quantity == Quantity::kOhm || quantity == Quantity::kGain;
}

}  // namespace

double Cost(double z) {
  const double beyond = std::clamp(z - kWithinZ, 0.0, kCapZ);
  return 0.5 * beyond * beyond;
}

double Surprise(const Reading& reading, double observed, const Prediction& predicted) {
  // A reading that came where none should, or did not.
  const bool silent = std::isnan(observed);
  if (silent && predicted.is_none()) return 0;
  if (silent || predicted.is_none()) return kSilenceZ;
  // z = |observed - predicted| / sigma, of a band from its nearer end.
  const double off = predicted.Distance(observed);
  const double end = observed < predicted.low() ? predicted.low() : predicted.high();
  const double z = reading.discrete ? (off == 0 ? 0 : kOtherStateZ)
                                    : off / std::hypot(reading.sigma, kShareOfValue * end);
  // Within a band, a little.
  return predicted.is_value() ? z : std::max(z, kBandZ);
}

double Apart(const Reading& reading, const Prediction& a, const Prediction& b) {
  if (a.is_none() && b.is_none()) return 0;
  if (a.is_none() || b.is_none()) return kSilenceZ;
  const double off = std::max({a.low() - b.high(), b.low() - a.high(), 0.0});
  const double end = a.low() > b.high() ? b.high() : b.low();
  const double z = reading.discrete ? (off == 0 ? 0 : kOtherStateZ)
                                    : off / std::hypot(reading.sigma, kShareOfValue * end);
  return a.kind() == b.kind() ? z : std::max(z, kBandZ);
}

// One observation, and what of it a fault leaves unexplained.
class Ranker::Scoring {
 public:
  Scoring(const Ranker& ranker, const Observation& observed)
      : ranker_(ranker),
        observed_(observed),
        cells_(observed.size()),
        rows_(observed.size(), 0),
        order_(observed.size()) {
    // cost(z) of each reading without a fault, and of each situation.
    const auto& readings = ranker.predictor_.readings();
    const PredictedRows& healthy = ranker.predictor_.healthy();
    for (std::size_t s = 0; s < observed.size(); ++s) {
      cells_[s].resize(readings.size(), 0);
      for (std::size_t r = 0; r < readings.size(); ++r) {
        if (!ranker.IsCompared(s, r)) continue;
        cells_[s][r] = Cost(Surprise(readings[r], observed[s][r], healthy[s][r]));
        rows_[s] += cells_[s][r];
      }
    }
    // Situations, the most surprising first.
    std::iota(order_.begin(), order_.end(), std::size_t{0});
    std::stable_sort(order_.begin(), order_.end(),
                     [this](std::size_t a, std::size_t b) { return rows_[a] > rows_[b]; });
  }

  // Log weight by the most surprising situations alone: the whole one is at most this.
  double FirstLooks(const Hypothesis& hypothesis) const {
    Trial trial(ranker_.predictor_, hypothesis.faults);
    return GoOn(trial, 0, std::min(kFirstLooks, order_.size()), std::log(hypothesis.prior),
                kImpossible);
  }
  // From there to the whole one; given up below `least`, and kImpossible returned.
  double GoOn(const Hypothesis& hypothesis, double first, double least) const {
    if (order_.size() <= kFirstLooks) return first;
    Trial trial(ranker_.predictor_, hypothesis.faults);
    trial.BeginWith(order_[0]);
    return GoOn(trial, kFirstLooks, order_.size(), first, least);
  }
  double LogWeight(const Hypothesis& hypothesis, double least) const {
    Trial trial(ranker_.predictor_, hypothesis.faults);
    return GoOn(trial, 0, order_.size(), std::log(hypothesis.prior), least);
  }

  // Golden section between the grid's neighbours: the misfit has one valley there.
  Hypothesis Refine(const Hypothesis& coarse, double at_coarse) const {
    if (coarse.quantity == Quantity::kNone || coarse.low >= coarse.high) return coarse;
    const bool logarithmic = IsLogarithmic(coarse.quantity);
    const auto to = [&](double value) { return logarithmic ? std::log(value) : value; };
    const auto from = [&](double x) { return logarithmic ? std::exp(x) : x; };
    Hypothesis best = coarse;
    double at_best = at_coarse;
    // log weight at x, the best kept.
    const auto judge = [&](double x) {
      const Hypothesis at = WithValue(coarse, from(x));
      const double log_weight = LogWeight(at, kImpossible);
      if (log_weight > at_best) {
        best = at;
        at_best = log_weight;
      }
      return log_weight;
    };
    // [low, high] shrinks about the higher of its two inner points a < b.
    double low = to(coarse.low), high = to(coarse.high);
    double a = high - kGolden * (high - low), b = low + kGolden * (high - low);
    double at_a = judge(a), at_b = judge(b);
    for (int i = 0; i < kRefineSteps; ++i) {
      if (at_a > at_b) {
        high = b;
        b = a;
        at_b = at_a;
        a = high - kGolden * (high - low);
        at_a = judge(a);
      } else {
        low = a;
        a = b;
        at_a = at_b;
        b = low + kGolden * (high - low);
        at_b = judge(b);
      }
    }
    return best;
  }

  const std::vector<std::vector<double>>& cells() const { return cells_; }
  const std::vector<std::size_t>& order() const { return order_; }

 private:
  double GoOn(Trial& trial, std::size_t from, std::size_t to, double log_weight,
              double least) const {
    for (std::size_t i = from; i < to; ++i) {
      log_weight -= RowCost(trial, order_[i]);
      if (log_weight < least) return kImpossible;
    }
    return log_weight;
  }

  double RowCost(Trial& trial, std::size_t s) const {
    // sum cost(z): as on the healthy bench, but for what the fault changes.
    double cost = rows_[s];
    for (const Change& change : trial.Changes(s)) {
      const auto r = static_cast<std::size_t>(change.reading);
      if (!ranker_.IsCompared(s, r)) continue;
      const Reading& reading = ranker_.predictor_.readings()[r];
      cost += Cost(Surprise(reading, observed_[s][r], change.predicted)) - cells_[s][r];
    }
    return cost;
  }

  const Ranker& ranker_;
  const Observation& observed_;
  std::vector<std::vector<double>> cells_;  // cost of each reading on the healthy bench
  std::vector<double> rows_;                // of each situation
  std::vector<std::size_t> order_;          // most surprising first
};

Ranker::Ranker(const profile::Bench& bench, Predictor& predictor)
    : bench_(bench), predictor_(predictor), hypotheses_(SingleFaults(bench)) {}

bool Ranker::IsCompared(std::size_t situation, std::size_t reading) const {
  return !predictor_.readings()[reading].turning ||
         predictor_.situations()[situation].engine_rpm() > 0;
}

Clue Ranker::ClueAt(const Diagnosis& diagnosis, const Candidate& candidate,
                    const Observation& observed, std::size_t s, std::size_t r) const {
  const Prediction& predicted = candidate.predicted[s][r];
  return {static_cast<int>(s),
          static_cast<int>(r),
          observed[s][r],
          predicted,
          diagnosis.healthy_prediction[s][r],
          Surprise(predictor_.readings()[r], observed[s][r], predicted)};
}

Candidate Ranker::Judge(const Hypothesis& hypothesis, const Observation& observed) {
  Candidate candidate{hypothesis, predictor_.Predict(hypothesis.faults), std::log(hypothesis.prior),
                      0};
  for (std::size_t s = 0; s < observed.size(); ++s) {
    for (std::size_t r = 0; r < observed[s].size(); ++r) {
      if (!IsCompared(s, r)) continue;
      const double z =
          Surprise(predictor_.readings()[r], observed[s][r], candidate.predicted[s][r]);
      candidate.log_weight -= Cost(z);
      if (z > kSurprisingZ) ++candidate.surprises;
    }
  }
  return candidate;
}

// If the one were true, how much would the other leave unexplained?
bool Ranker::Alike(const PredictedRows& a, const PredictedRows& b) const {
  double cost = 0;
  for (std::size_t s = 0; s < a.size(); ++s) {
    for (std::size_t r = 0; r < a[s].size(); ++r) {
      if (a[s][r] == b[s][r] || !IsCompared(s, r)) continue;
      cost += Cost(Apart(predictor_.readings()[r], a[s][r], b[s][r]));
      if (cost > kAlikeCost) return false;
    }
  }
  return true;
}

std::vector<Group> Ranker::GroupsOf(std::vector<Candidate> candidates) const {
  std::sort(candidates.begin(), candidates.end(),
            [](const Candidate& a, const Candidate& b) { return a.log_weight > b.log_weight; });
  // Best first: each joins the first group whose best member it cannot be told from.
  std::vector<Group> groups;
  double total = 0;
  const double best = candidates.empty() ? 0 : candidates[0].log_weight;
  for (Candidate& candidate : candidates) {
    const double weight = std::exp(candidate.log_weight - best);
    const auto home = std::find_if(groups.begin(), groups.end(), [&](const Group& group) {
      return Alike(group.members[0].predicted, candidate.predicted);
    });
    total += weight;
    if (home != groups.end()) {
      home->share += weight;
      home->members.push_back(std::move(candidate));
    } else if (groups.size() < kMostGroups) {
      groups.push_back({{std::move(candidate)}, weight});
    }
  }
  // Weights to shares of all weight, of groups that are left out too.
  for (Group& group : groups) group.share /= total;
  std::stable_sort(groups.begin(), groups.end(),
                   [](const Group& a, const Group& b) { return a.share > b.share; });
  return groups;
}

// All single faults; in a harness too large for pairs of all, those that explain most alone.
std::vector<Hypothesis> Ranker::Partners(const Scoring& scoring) const {
  const harness::Variants& variants = predictor_.electrical().variants();
  if (harness::Pairs::Fits(variants, hypotheses_.size())) return hypotheses_;
  std::vector<std::pair<double, std::size_t>> alone;
  for (std::size_t h = 0; h < hypotheses_.size(); ++h) {
    alone.emplace_back(-scoring.LogWeight(hypotheses_[h], kImpossible), h);
  }
  std::sort(alone.begin(), alone.end());
  std::vector<Hypothesis> partners;
  for (const auto& [weight, h] : alone) {
    if (partners.size() == kMostPartners) break;
    partners.push_back(hypotheses_[h]);
  }
  return partners;
}

// Every pair by the screen; the best of them in full.
void Ranker::TryDoubles(const Scoring& scoring, std::vector<Candidate>& candidates,
                        const Observation& observed) {
  // The screen's best pairs, each as one hypothesis: log prior = log prior a + log prior b, less for
  // two at once.
  const std::vector<Hypothesis> partners = Partners(scoring);
  const PairScreen screen(bench_, predictor_, partners, observed, scoring.cells(), scoring.order());
  double best = kImpossible;
  std::vector<std::pair<double, Hypothesis>> found;
  for (const FaultPair& pair : screen.Best(kPairsJudged)) {
    const Hypothesis &a = partners[pair.a], &b = partners[pair.b];
    // The one with a quantity first: it is the first fault's that is refined.
    Hypothesis both = a.quantity == Quantity::kNone ? b : a;
    const Hypothesis& other = a.quantity == Quantity::kNone ? a : b;
    both.kind = "two faults";
    both.prior = a.prior * b.prior * kTwoAtOnce;
    both.faults.insert(both.faults.end(), other.faults.begin(), other.faults.end());
    const double log_weight = scoring.LogWeight(both, best - kWorth);
    if (log_weight == kImpossible) continue;
    best = std::max(best, log_weight);
    found.emplace_back(log_weight, std::move(both));
  }
  // Candidates, best first; of the first ones the quantity refined.
  std::stable_sort(found.begin(), found.end(),
                   [](const auto& a, const auto& b) { return a.first > b.first; });
  std::size_t refined = 0;
  for (const auto& [log_weight, both] : found) {
    if (log_weight < best - kWorth) break;
    const bool refine = both.quantity != Quantity::kNone && refined++ < kRefined;
    candidates.push_back(Judge(refine ? scoring.Refine(both, log_weight) : both, observed));
  }
}

Diagnosis Ranker::Rank(const Observation& observed, const RankOptions& options) {
  // Nothing to explain?
  Diagnosis diagnosis;
  diagnosis.healthy_prediction = predictor_.healthy();
  Hypothesis none;
  none.kind = "healthy";
  diagnosis.healthy = Judge(none, observed).surprises == 0;
  if (diagnosis.healthy) return diagnosis;

  // All hypotheses by the most surprising situations, to have them in a good order.
  Scoring scoring(*this, observed);
  struct Scored {
    double log_weight;
    std::size_t hypothesis;
  };
  const auto better = [](const Scored& a, const Scored& b) { return a.log_weight > b.log_weight; };
  std::vector<Scored> looked;
  for (std::size_t h = 0; h < hypotheses_.size(); ++h) {
    looked.push_back({scoring.FirstLooks(hypotheses_[h]), h});
  }
  std::stable_sort(looked.begin(), looked.end(), better);
  // log weight of each in full, as long as it may come within e^kWorth of the best.
  std::vector<Scored> scored;
  double best = kImpossible;
  for (const Scored& first : looked) {
    if (first.log_weight < best - kWorth) break;
    const double log_weight =
        scoring.GoOn(hypotheses_[first.hypothesis], first.log_weight, best - kWorth);
    if (log_weight == kImpossible) continue;
    best = std::max(best, log_weight);
    scored.push_back({log_weight, first.hypothesis});
  }
  // Of these the candidates, of the first ones the quantity refined.
  std::stable_sort(scored.begin(), scored.end(), better);
  std::vector<Candidate> candidates;
  std::size_t refined = 0;
  for (const Scored& at : scored) {
    if (at.log_weight < best - kWorth) break;
    Hypothesis hypothesis = hypotheses_[at.hypothesis];
    if (hypothesis.quantity != Quantity::kNone && refined++ < kRefined) {
      hypothesis = scoring.Refine(hypothesis, at.log_weight);
    }
    candidates.push_back(Judge(hypothesis, observed));
  }
  // None explains everything: pairs.
  const auto explains = [](const Candidate& candidate) { return candidate.surprises == 0; };
  if (options.doubles && std::none_of(candidates.begin(), candidates.end(), explains)) {
    TryDoubles(scoring, candidates, observed);
  }
  // Candidates that these readings cannot tell apart are one group.
  diagnosis.groups = GroupsOf(std::move(candidates));
  diagnosis.explained = !diagnosis.groups.empty() && diagnosis.groups[0].members[0].surprises == 0;
  return diagnosis;
}

template <class Keep>
std::vector<Clue> Ranker::Clues(const Diagnosis& diagnosis, const Candidate& candidate,
                                const Observation& observed, const Keep& keep) const {
  std::vector<Clue> clues;
  for (std::size_t s = 0; s < observed.size(); ++s) {
    for (std::size_t r = 0; r < observed[s].size(); ++r) {
      if (!IsCompared(s, r)) continue;
      const Clue clue = ClueAt(diagnosis, candidate, observed, s, r);
      if (keep(clue, predictor_.readings()[r])) clues.push_back(clue);
    }
  }
  return clues;
}

std::vector<Clue> Ranker::For(const Diagnosis& diagnosis, const Candidate& candidate,
                              const Observation& observed) const {
  return Clues(diagnosis, candidate, observed, [](const Clue& clue, const Reading& reading) {
    return clue.z <= kSurprisingZ && Surprise(reading, clue.observed, clue.healthy) > kSurprisingZ;
  });
}

std::vector<Clue> Ranker::Against(const Diagnosis& diagnosis, const Candidate& candidate,
                                  const Observation& observed) const {
  return Clues(diagnosis, candidate, observed,
               [](const Clue& clue, const Reading&) { return clue.z > kSurprisingZ; });
}

}  // namespace drycrank::diagnose
