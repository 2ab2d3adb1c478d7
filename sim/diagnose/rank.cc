// SPDX-License-Identifier: Apache-2.0
#include "diagnose/rank.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace drycrank::diagnose {
namespace {

constexpr double kOtherStateZ = 6, kSilenceZ = 8, kCapZ = 8;
constexpr double kAnythingZ = 1.5;       // it fits, but everything would
constexpr double kShareOfValue = 0.004;  // deviations grow with what a fault magnifies
constexpr double kAlikeZ = 1;
// Candidates with a quantity that are refined, unless so much less likely than the best.
constexpr std::size_t kRefined = 10;
constexpr double kWorthRefining = 60;
constexpr std::size_t kDoublePartners = 24;
constexpr double kGolden = 0.618033988749895;
constexpr int kRefineSteps = 10;

bool IsLogarithmic(Quantity quantity) {
  return quantity == Quantity::kOhm || quantity == Quantity::kGain;
}

}  // namespace

double Surprise(const Reading& reading, double observed, double predicted) {
  const bool silent = std::isnan(observed), silence_due = std::isnan(predicted);
  if (silent && silence_due) return 0;
  if (silent || silence_due) return kSilenceZ;
  if (observed == kAnything && predicted == kAnything) return 0;
  if (observed == kAnything || predicted == kAnything) return kAnythingZ;
  if (reading.discrete) return observed == predicted ? 0 : kOtherStateZ;
  return std::abs(observed - predicted) / std::hypot(reading.sigma, kShareOfValue * predicted);
}

Ranker::Ranker(const profile::Bench& bench, Predictor& predictor)
    : predictor_(predictor),
      hypotheses_(SingleFaults(bench)),
      known_(hypotheses_.size()),
      healthy_(predictor.Predict({})) {}

template <class Visit>
void Ranker::ForEachCompared(const Visit& visit) const {
  const auto& readings = predictor_.readings();
  for (std::size_t s = 0; s < predictor_.situations().size(); ++s) {
    const bool turning = predictor_.situations()[s].engine_rpm() > 0;
    for (std::size_t r = 0; r < readings.size(); ++r) {
      if (turning || !readings[r].turning) visit(s, r, readings[r]);
    }
  }
}

Clue Ranker::ClueAt(const Diagnosis& diagnosis, const Candidate& candidate,
                    const Observation& observed, std::size_t s, std::size_t r) const {
  const double predicted = candidate.predicted[s][r];
  return {static_cast<int>(s),
          static_cast<int>(r),
          observed[s][r],
          predicted,
          diagnosis.healthy_prediction[s][r],
          Surprise(predictor_.readings()[r], observed[s][r], predicted)};
}

const Observation& Ranker::PredictionOf(std::size_t hypothesis) {
  Observation& known = known_[hypothesis];
  if (known.empty()) known = predictor_.Predict(hypotheses_[hypothesis].faults);
  return known;
}

Candidate Ranker::Judge(const Hypothesis& hypothesis, Observation predicted,
                        const Observation& observed) const {
  Candidate candidate{hypothesis, std::move(predicted), std::log(hypothesis.prior), 0};
  ForEachCompared([&](std::size_t s, std::size_t r, const Reading& reading) {
    const double z = Surprise(reading, observed[s][r], candidate.predicted[s][r]);
    candidate.log_weight -= 0.5 * std::min(z * z, kCapZ * kCapZ);
    if (z > kSurprisingZ) ++candidate.surprises;
  });
  return candidate;
}

// Golden section between the grid's neighbours: the misfit has one valley there.
Candidate Ranker::Refine(const Candidate& coarse, const Observation& observed) {
  const Hypothesis& h = coarse.hypothesis;
  if (h.quantity == Quantity::kNone || h.low >= h.high) return coarse;
  const bool logarithmic = IsLogarithmic(h.quantity);
  const auto to = [&](double value) { return logarithmic ? std::log(value) : value; };
  const auto from = [&](double x) { return logarithmic ? std::exp(x) : x; };
  Candidate best = coarse;
  const auto judge = [&](double x) {
    const Hypothesis at = WithValue(h, from(x));
    const Candidate candidate = Judge(at, predictor_.Predict(at.faults), observed);
    if (candidate.log_weight > best.log_weight) best = candidate;
    return candidate.log_weight;
  };
  double low = to(h.low), high = to(h.high);
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

bool Ranker::Alike(const Observation& a, const Observation& b) const {
  bool alike = true;
  ForEachCompared([&](std::size_t s, std::size_t r, const Reading& reading) {
    alike = alike && Surprise(reading, a[s][r], b[s][r]) <= kAlikeZ;
  });
  return alike;
}

std::vector<Group> Ranker::GroupsOf(std::vector<Candidate> candidates) const {
  std::sort(candidates.begin(), candidates.end(),
            [](const Candidate& a, const Candidate& b) { return a.log_weight > b.log_weight; });
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
  for (Group& group : groups) group.share /= total;
  std::stable_sort(groups.begin(), groups.end(),
                   [](const Group& a, const Group& b) { return a.share > b.share; });
  return groups;
}

// Pairs of the single faults that come nearest: what two faults do together, each does in part.
void Ranker::TryDoubles(std::vector<Candidate>& candidates, const Observation& observed) {
  const std::size_t partners = std::min(kDoublePartners, candidates.size());
  std::vector<Candidate> pairs;
  for (std::size_t i = 0; i < partners; ++i) {
    for (std::size_t k = i + 1; k < partners; ++k) {
      const Hypothesis& a = candidates[i].hypothesis;
      const Hypothesis& b = candidates[k].hypothesis;
      if (a.faults[0].kind == b.faults[0].kind && a.faults[0].at == b.faults[0].at) continue;
      Hypothesis both{a.faults, "two faults", a.prior * b.prior * 1e-2, Quantity::kNone, 0, 0, 0};
      both.faults.insert(both.faults.end(), b.faults.begin(), b.faults.end());
      pairs.push_back(Judge(both, predictor_.Predict(both.faults), observed));
    }
  }
  candidates.insert(candidates.end(), std::make_move_iterator(pairs.begin()),
                    std::make_move_iterator(pairs.end()));
}

Diagnosis Ranker::Rank(const Observation& observed, const RankOptions& options) {
  Diagnosis diagnosis;
  diagnosis.healthy_prediction = healthy_;
  Hypothesis none;
  none.kind = "healthy";
  diagnosis.healthy = Judge(none, healthy_, observed).surprises == 0;
  if (diagnosis.healthy) return diagnosis;

  std::vector<Candidate> candidates;
  for (std::size_t h = 0; h < hypotheses_.size(); ++h) {
    candidates.push_back(Judge(hypotheses_[h], PredictionOf(h), observed));
  }
  const auto better = [](const Candidate& a, const Candidate& b) {
    return a.log_weight > b.log_weight;
  };
  std::sort(candidates.begin(), candidates.end(), better);
  std::size_t refined = 0;
  const double best = candidates[0].log_weight;
  for (Candidate& candidate : candidates) {
    if (candidate.hypothesis.quantity == Quantity::kNone) continue;
    if (candidate.log_weight < best - kWorthRefining) break;
    candidate = Refine(candidate, observed);
    if (++refined == kRefined) break;
  }
  std::sort(candidates.begin(), candidates.end(), better);
  if (options.doubles && candidates[0].surprises > 0) TryDoubles(candidates, observed);
  diagnosis.groups = GroupsOf(std::move(candidates));
  diagnosis.explained = !diagnosis.groups.empty() && diagnosis.groups[0].members[0].surprises == 0;
  return diagnosis;
}

std::vector<Clue> Ranker::For(const Diagnosis& diagnosis, const Candidate& candidate,
                              const Observation& observed) const {
  std::vector<Clue> clues;
  ForEachCompared([&](std::size_t s, std::size_t r, const Reading& reading) {
    const Clue clue = ClueAt(diagnosis, candidate, observed, s, r);
    if (clue.z > kSurprisingZ) return;
    if (Surprise(reading, clue.observed, clue.healthy) > kSurprisingZ) clues.push_back(clue);
  });
  return clues;
}

std::vector<Clue> Ranker::Against(const Diagnosis& diagnosis, const Candidate& candidate,
                                  const Observation& observed) const {
  std::vector<Clue> clues;
  ForEachCompared([&](std::size_t s, std::size_t r, const Reading&) {
    const Clue clue = ClueAt(diagnosis, candidate, observed, s, r);
    if (clue.z > kSurprisingZ) clues.push_back(clue);
  });
  return clues;
}

}  // namespace drycrank::diagnose
