// SPDX-License-Identifier: Apache-2.0
#include "diagnose/weigh.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "diagnose/rank.h"

namespace drycrank::diagnose {
namespace {

constexpr double kOwnShare = 0.002, kCommonShare = 0.005, kRootTwelve = 3.4641016151377544;
constexpr double kAlikeChi2 = 6;
constexpr double kBeyondTolerance = 0.2;  // of it: as deviation of what lies beyond
// Seen for a few seconds: no share of time is known to better than a few per cent.
constexpr double kLeastOften = 0.05, kMostOften = 0.97;

double Middle(const Prediction& p) { return (p.low() + p.high()) / 2; }

}  // namespace

Weigher::Weigher(const Predictor& predictor, const Facts& facts)
    : predictor_(predictor), facts_(facts), of_situation_(facts.situations()) {
  for (std::size_t f = 0; f < facts.all().size(); ++f) {
    const Fact& fact = facts.all()[f];
    of_situation_[fact.situation].push_back(f);
    const Prediction healthy = facts.At(predictor.healthy_values(), fact);
    healthy_.push_back(healthy.is_none() ? std::numeric_limits<double>::quiet_NaN()
                                         : Middle(healthy));
  }
}

double Weigher::ShiftOf(const Fact& fact, const Prediction& predicted) const {
  const double healthy = healthy_[static_cast<std::size_t>(&fact - facts_.all().data())];
  const double shift = std::abs(Middle(predicted) - healthy);
  return std::isnan(shift) ? 0 : std::min(shift, fact.span);
}

double Weigher::CostOfState(const Fact& fact, const Prediction& predicted, bool& glitch) {
  glitch = false;
  if (predicted.is_none() && std::isnan(fact.seen)) return 0;
  const bool fits = !predicted.is_none() && !std::isnan(fact.seen) && fact.state &&
                    predicted.Distance(fact.seen) < 0.5;
  const double words = 1 + std::min(predicted.high() - predicted.low(), 16.0);
  if (fits && predicted.usual_share() > 0) {
    const double share = std::clamp(predicted.usual_share(), kLeastOften, kMostOften);
    const bool usual = std::abs(fact.seen - predicted.usual()) < 0.5;
    return usual ? -std::log(share) : std::log(std::max(words - 1, 1.0)) - std::log(1 - share);
  }
  if (fits) return std::log(words);
  glitch = true;
  // A number has a density, whatever brought it.
  const bool number = !fact.state && !std::isnan(fact.seen);
  return kGlitch + (number ? std::log(fact.span) : 0);
}

void Weigher::Take(const Fact& fact, const Prediction& predicted, const Eigen::VectorXd& variance,
                   Sums& sums) const {
  if (fact.state || fact.block < 0 || predicted.is_none()) {
    bool glitch = false;
    sums.log_like -= CostOfState(fact, predicted, glitch);
    sums.glitches += glitch;
    return;
  }
  // Of what comes and goes: where it mostly is, or anywhere.
  if (predicted.is_restless() && predicted.usual_share() > 0) {
    const double share = std::clamp(predicted.usual_share(), kLeastOften, kMostOften);
    const double near = 3 * fact.noise + std::sqrt(variance[fact.block]);
    const bool usual = std::abs(fact.seen - predicted.usual()) < near;
    sums.log_like += std::log(usual ? share : 1 - share);
    const Prediction same = usual ? Prediction::Value(predicted.usual())
                                  : Prediction::Band(predicted.low(), predicted.high());
    return Take(fact, same, variance, sums);
  }
  const double residual = fact.seen - Middle(predicted);
  const double shift = ShiftOf(fact, predicted);
  double own = std::hypot(fact.noise, kOwnShare * shift);
  if (!predicted.is_value()) {
    own = std::hypot(own, (predicted.high() - predicted.low()) / kRootTwelve);
  }
  double& common = sums.blocks.common[fact.block];
  common = std::max(common, kCommonShare * shift);
  // Farther off than a glitch allows?
  const double all = own * own + common * common + variance[fact.block];
  const double cost = residual * residual / (2 * all);
  const double limit = kGlitch + std::max(0.0, std::log(fact.span / std::sqrt(all)));
  if (cost <= limit) return sums.blocks.Add(fact.block, residual, own);
  sums.log_like -= kGlitch + std::log(fact.span) + std::log(cost / limit);
  ++sums.glitches;
}

// The tolerance is one: what lies beyond it by half costs three nats more than a normal tail.
double Weigher::CostOfSupply(const Eigen::VectorXd& shared) {
  const double beyond = std::max(0.0, kOfTolerance * std::abs(shared[0]) - 1) / kBeyondTolerance;
  return beyond * beyond / 2;
}

Weighed Weigher::Weigh(const ValueRows& rows, const Eigen::MatrixXd& columns,
                       std::span<const std::size_t> situations,
                       const std::set<std::string>* missing) const {
  const auto blocks = static_cast<Eigen::Index>(facts_.blocks().size());
  Sums sums{BlockSums(blocks)};
  for (Eigen::Index b = 0; b < blocks; ++b) {
    sums.blocks.common[b] = facts_.blocks()[static_cast<std::size_t>(b)].common;
  }
  const Eigen::VectorXd variance = columns.rowwise().squaredNorm();
  for (const std::size_t s : situations) {
    for (const std::size_t f : of_situation_[s]) {
      const Fact& fact = facts_.all()[f];
      Take(fact, facts_.At(rows, fact, missing), variance, sums);
    }
  }
  Weighed weighed;
  weighed.log_like = sums.log_like + LogLikelihood(sums.blocks, columns, &weighed.shared);
  weighed.log_like -= CostOfSupply(weighed.shared);
  weighed.glitches = sums.glitches;
  return weighed;
}

Weighed Weigher::Best(const Eigen::MatrixXd& columns,
                      std::span<const std::size_t> situations) const {
  Sums sums{BlockSums(static_cast<Eigen::Index>(facts_.blocks().size()))};
  for (std::size_t b = 0; b < facts_.blocks().size(); ++b) {
    sums.blocks.common[static_cast<Eigen::Index>(b)] = facts_.blocks()[b].common;
  }
  for (const std::size_t s : situations) {
    for (const std::size_t f : of_situation_[s]) {
      const Fact& fact = facts_.all()[f];
      if (!fact.state && fact.block >= 0) sums.blocks.Add(fact.block, 0, fact.noise);
    }
  }
  Weighed weighed;
  weighed.log_like = LogLikelihood(sums.blocks, columns, &weighed.shared);
  return weighed;
}

int Weigher::Surprises(const ValueRows& rows, const Eigen::MatrixXd& columns,
                       const Eigen::VectorXd& shared, const std::set<std::string>* missing) const {
  const Eigen::VectorXd moved = columns * shared;
  int surprises = 0;
  for (const Fact& fact : facts_.all()) {
    const Prediction predicted = facts_.At(rows, fact, missing);
    if (fact.state || fact.block < 0 || predicted.is_none()) {
      bool glitch = false;
      CostOfState(fact, predicted, glitch);
      surprises += glitch;
      continue;
    }
    const double shift = ShiftOf(fact, predicted);
    const double common = std::max(facts_.blocks()[static_cast<std::size_t>(fact.block)].common,
                                   kCommonShare * shift);
    const double own = std::hypot(std::hypot(fact.noise, kOwnShare * shift, common),
                                  predictor_.readings()[fact.reading].sigma);
    const double off = predicted.Distance(fact.seen - moved[fact.block]);
    if (off > kSurprisingZ * own) ++surprises;
  }
  return surprises;
}

double Weigher::CostAlone(const Fact& fact, const ValueRows& rows,
                          const Eigen::MatrixXd& columns) const {
  const Prediction predicted = facts_.At(rows, fact);
  if (fact.state || fact.block < 0 || !predicted.is_value()) {
    bool glitch = false;
    return CostOfState(fact, predicted, glitch);
  }
  const double common = facts_.blocks()[static_cast<std::size_t>(fact.block)].common;
  const double all =
      fact.noise * fact.noise + common * common + columns.row(fact.block).squaredNorm();
  const double residual = fact.seen - Middle(predicted);
  return std::min(residual * residual / (2 * all), 2 * kGlitch);
}

// Of what was seen, errors independent: with the density, so that a band is paid for.
double Weigher::CostByItself(const Fact& fact, const Prediction& predicted, double variance) const {
  bool glitch = false;
  if (fact.state || fact.block < 0 || predicted.is_none()) {
    return CostOfState(fact, predicted, glitch);
  }
  if (predicted.is_restless() && predicted.usual_share() > 0) {
    const double share = std::clamp(predicted.usual_share(), kLeastOften, kMostOften);
    const Prediction band = Prediction::Band(predicted.low(), predicted.high());
    return std::min(
        CostByItself(fact, Prediction::Value(predicted.usual()), variance) - std::log(share),
        CostByItself(fact, band, variance) - std::log(1 - share));
  }
  const double width = (predicted.high() - predicted.low()) / kRootTwelve;
  const double common = facts_.blocks()[static_cast<std::size_t>(fact.block)].common;
  const double all = fact.noise * fact.noise + width * width + common * common + variance;
  const double residual = fact.seen - Middle(predicted);
  return std::min(residual * residual / (2 * all) + std::log(all) / 2,
                  kGlitch + std::log(fact.span));
}

bool Weigher::Alike(const ValueRows& a, const ValueRows& b, const Eigen::MatrixXd& columns,
                    const std::set<std::string>* missing_a,
                    const std::set<std::string>* missing_b) const {
  const auto blocks = static_cast<Eigen::Index>(facts_.blocks().size());
  BlockSums difference(blocks), none(blocks);
  const auto variance = [&](const Fact& fact) {
    return fact.block < 0 ? 0 : columns.row(fact.block).squaredNorm();
  };
  double states = 0;
  for (const Fact& fact : facts_.all()) {
    const Prediction one = facts_.At(a, fact, missing_a), other = facts_.At(b, fact, missing_b);
    if (one.is_none() != other.is_none()) return false;
    if (one.is_none()) continue;
    if (fact.state || fact.block < 0) {
      if (one.low() > other.high() + 0.5 || other.low() > one.high() + 0.5) return false;
    }
    // What comes and goes would fit much: by what was seen.
    if (fact.state || fact.block < 0 || !one.is_value() || !other.is_value()) {
      states += std::abs(CostByItself(fact, one, variance(fact)) -
                         CostByItself(fact, other, variance(fact)));
      if (states > kAlikeChi2 / 2) return false;
      continue;
    }
    const double own = std::hypot(fact.noise, kOwnShare * ShiftOf(fact, one));
    double& common = difference.common[fact.block];
    common = std::max({common, facts_.blocks()[static_cast<std::size_t>(fact.block)].common,
                       kCommonShare * ShiftOf(fact, one)});
    none.common[fact.block] = common;
    difference.Add(fact.block, Middle(one) - Middle(other), own);
    none.Add(fact.block, 0, own);
  }
  const double chi2 = 2 * (LogLikelihood(none, columns) - LogLikelihood(difference, columns));
  return chi2 < kAlikeChi2;
}

}  // namespace drycrank::diagnose
