// SPDX-License-Identifier: Apache-2.0
#include "diagnose/rank.h"

#include <algorithm>
#include <cmath>
#include <iterator>

#include "diagnose/race.h"
#include "diagnose/suspects.h"
#include "diagnose/told_suspects.h"
#include "diagnose/wheel_suspects.h"

namespace drycrank::diagnose {
namespace {

constexpr double kOtherStateZ = kWithinZ + 6, kSilenceZ = kWithinZ + 8;
constexpr double kBandZ = kWithinZ + 1.5;  // it fits, but much would
constexpr double kShareOfValue = 0.004;    // deviations grow with what a fault magnifies

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

Ranker::Ranker(const profile::Bench& bench, Predictor& predictor)
    : bench_(bench), predictor_(predictor), hypotheses_(Suspects(bench)) {}

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

namespace {

bool IsOfTermination(const Hypothesis& h) {
  return std::ranges::all_of(
      h.faults, [](const profile::Fault& f) { return f.Is<profile::fault::Termination>(); });
}

// Terminations that keep no message away: to every reading as a healthy bench, and not to a meter.
void AddUnnoticedTerminations(std::span<const Hypothesis> hypotheses, const Predictor& predictor,
                              Diagnosis& diagnosis) {
  struct Group unnoticed;
  for (const Hypothesis& h : hypotheses) {
    if (!IsOfTermination(h) || predictor.unheard().KeepsAny(h.faults)) continue;
    const double share = diagnosis.healthy_share * h.prior / (kPriorHealthy + kPriorSingle);
    unnoticed.members.push_back({h, diagnosis.healthy_prediction, std::log(share), share, 0});
    unnoticed.share += share;
  }
  if (unnoticed.members.empty()) return;
  diagnosis.healthy_share -= unnoticed.share;
  diagnosis.groups.push_back(std::move(unnoticed));
}

}  // namespace

Diagnosis Ranker::Rank(const Observation& observed, const RankOptions& options) {
  // Edges that are off tell of a wheel though nothing failed.
  const bool moved = options.edges != nullptr && !Edges(predictor_, options.edges).IsRight();
  if (options.fired == nullptr && !moved) {
    RankOptions readings = options;
    readings.edges = nullptr;
    Diagnosis diagnosis = Race(predictor_, hypotheses_, observed, {}, readings).Run(readings);
    if (diagnosis.healthy) AddUnnoticedTerminations(hypotheses_, predictor_, diagnosis);
    return diagnosis;
  }
  if (with_told_.empty()) {
    with_told_ = hypotheses_;
    std::ranges::move(ToldSuspects(bench_, hypotheses_), std::back_inserter(with_told_));
    std::ranges::move(WheelSuspects(bench_, hypotheses_), std::back_inserter(with_told_));
  }
  return Race(predictor_, with_told_, observed, {}, options).Run(options);
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
