// SPDX-License-Identifier: Apache-2.0
#include "diagnose/weigh.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "diagnose/rank.h"
#include "diagnose/unplayed.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

constexpr double kCommonShare = 0.001, kRootTwelve = 3.4641016151377544;
constexpr double kSurprisingShare = 0.005;
// Of chi2 / 2 for each number, since inputs are better than taken for granted.
constexpr double kLeastOfNoise = 0.1;
const double kPeak = -0.5 * std::log(2 * std::numbers::pi);
constexpr double kBeyondTolerance = 0.2;  // of it: as deviation of what lies beyond
// Seen for a few seconds: no share of time is known to better than a few per cent.
// Of what a fault moves, a deviation of the supply moves at most this share: twice what it is of
// the supply.
constexpr double kMostFelt = 0.1;
constexpr double kLeastOften = 0.05, kMostOften = 0.97;
constexpr double kNearEnd = 3;      // deviations from an end of a band: it is there
constexpr double kEndKnown = 0.05;  // of the band: so far off is where it ends

double Middle(const Prediction& p) { return (p.low() + p.high()) / 2; }
bool IsNoNumber(const Fact& fact, const Prediction& predicted) {
  return fact.state || fact.block < 0 || predicted.is_none();
}
// Of a number, just as seen.
double PeakOf(const Fact& fact) { return fact.block < 0 ? 0 : kPeak - std::log(fact.noise); }

}  // namespace

Weigher::Weigher(const Predictor& predictor, const Facts& facts)
    : predictor_(predictor),
      facts_(facts),
      of_situation_(facts.situations()),
      ends_(facts.situations()),
      sums_(CommonOf(facts)),
      other_(sums_) {
  for (std::size_t f = 0; f < facts.all().size(); ++f) {
    const Fact& fact = facts.all()[f];
    of_situation_[fact.situation].push_back(KnownOf(f));
    const Prediction& healthy = of_situation_[fact.situation].back().healthy;
    healthy_.push_back(healthy.is_none() ? std::numeric_limits<double>::quiet_NaN()
                                         : Middle(healthy));
  }
  SumWholes();
}

// REQUIRES: moved_.
template <class OfFact>
void Weigher::TakeByValues(Sums& sums, const OfFact& take) const {
  for (std::size_t v = 0; v < wholes_.size(); ++v) {
    const Whole& whole = wholes_[v];
    if (moved_[v] || !whole.is_certain) {
      for (const auto& [s, i] : whole.facts) take(s, of_situation_[s][i]);
      continue;
    }
    sums.log_like += whole.log_like;
    sums.glitches += whole.glitches;
    for (const auto& [block, sum] : whole.blocks) sums.blocks.Add(block, sum);
  }
}

Weigher::Known Weigher::KnownOf(std::size_t f) const {
  const Fact& fact = facts_.all()[f];
  Known known{f, fact, facts_.At(predictor_.healthy_values(), fact)};
  known.is_number = !IsNoNumber(fact, known.healthy);
  if (!known.is_number) {
    known.cost_of_state = CostOfState(fact, known.healthy, known.glitch);
  }
  return known;
}

// By a fallback: another state than the healthy one.
bool Weigher::IsReplaced(const ValueRows& rows, const Fact& fact) const {
  const int state = facts_.FaultOf(fact.value);
  const ControllerValues& now = rows[fact.situation];
  const ControllerValues& healthy = predictor_.healthy_values()[fact.situation];
  if (state < 0 || now.empty() || healthy.empty()) return false;
  const auto at = static_cast<std::size_t>(state);
  return !(now[at] == healthy[at]);
}

// Of what is moved, and not replaced.
double Weigher::ShiftOf(const ValueRows& rows, const Fact& fact,
                        const Prediction& predicted) const {
  const double healthy = Nth(healthy_, &fact - facts_.all().data());
  const double shift = std::abs(Middle(predicted) - healthy);
  if (!(shift > 0) || IsReplaced(rows, fact)) return 0;
  return std::min(shift, fact.span);
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

void Weigher::Take(const Fact& fact, const Prediction& predicted, double shift,
                   const Sensitivities& columns, Sums& sums) const {
  if (IsNoNumber(fact, predicted)) {
    bool glitch = false;
    sums.log_like -= CostOfState(fact, predicted, glitch);
    sums.glitches += glitch;
    return;
  }
  const double variance = columns.SquaredRowNorm(fact.block);
  // Of what comes and goes: where it mostly is, or anywhere.
  if (predicted.is_restless() && predicted.usual_share() > 0) {
    const double share = std::clamp(predicted.usual_share(), kLeastOften, kMostOften);
    const double near = 3 * fact.noise + std::sqrt(variance);
    const bool usual = std::abs(fact.seen - predicted.usual()) < near;
    sums.log_like += std::log(usual ? share : 1 - share);
    const Prediction same = usual ? Prediction::Value(predicted.usual())
                                  : Prediction::Restless(predicted.low(), predicted.high());
    return Take(fact, same, shift, columns, sums);
  }
  const double width = predicted.high() - predicted.low();
  const bool restless = predicted.is_restless();
  // Of a band mostly an end of it: a tooth is before its sensor or it is not.
  if (at_ends_ && !restless && width > 0) {
    const bool high = fact.seen > Middle(predicted);
    const double end = high ? predicted.high() : predicted.low();
    if (std::abs(fact.seen - end) < kNearEnd * (fact.noise + std::sqrt(variance))) {
      ends_.Add(fact.value, fact.situation, high);
      sums.blocks.Raise(fact.block, kEndKnown * width);
      return Take(fact, Prediction::Value(end), shift, columns, sums);
    }
  }
  // Else one value throughout its block. What comes and goes is anywhere, each time anew.
  const double residual = fact.seen - Middle(predicted);
  const double own = restless ? std::hypot(fact.noise, width / kRootTwelve) : fact.noise;
  const double common =
      sums.blocks.Raise(fact.block, std::max(kCommonShare * shift, restless ? 0 : width / 2));
  // Farther off than a glitch allows?
  const double all = own * own + common * common + variance;
  const double cost = residual * residual / (2 * all);
  if (cost <= kGlitch) return sums.blocks.Add(fact.block, residual, own);
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

Weigher::Sums Weigher::NoSums() const {
  sums_.Clear();
  ends_.Clear();
  return {sums_};
}

// One fact, as these rows have it.
void Weigher::TakeFrom(const ValueRows& rows, const Known& known, const Sensitivities& columns,
                       const std::set<std::string>* missing, Sums& sums) const {
  const std::size_t s = known.fact.situation, v = known.fact.value;
  const ControllerValues &now = rows[s], &healthy = predictor_.healthy_values()[s];
  const bool all_come = missing == nullptr || missing->empty();
  if (!all_come || now.empty() || healthy.empty() || !(now[v] == healthy[v])) {
    const Fact& fact = facts_.all()[known.number];
    const Prediction predicted = facts_.At(rows, fact, missing);
    return Take(fact, predicted, ShiftOf(rows, fact, predicted), columns, sums);
  }
  if (known.is_number) return Take(known.fact, known.healthy, 0, columns, sums);
  sums.log_like -= known.cost_of_state;
  sums.glitches += known.glitch;
}

// What has bands: each at an end, or anywhere. Either is as likely.
Weighed Weigher::Weigh(const ValueRows& rows, const Sensitivities& columns,
                       std::span<const std::size_t> situations,
                       const std::set<std::string>* missing) const {
  Weighed at_ends = WeighOnce(rows, columns, situations, missing);
  if (!ends_.any()) return at_ends;
  at_ends_ = false;
  Weighed anywhere = WeighOnce(rows, columns, situations, missing);
  at_ends_ = true;
  const double apart = std::abs(at_ends.log_like - anywhere.log_like);
  Weighed likelier = std::move(at_ends.log_like > anywhere.log_like ? at_ends : anywhere);
  likelier.log_like += std::log(0.5 + 0.5 * std::exp(-apart));
  return likelier;
}

Weighed Weigher::WeighOnce(const ValueRows& rows, const Sensitivities& columns,
                           std::span<const std::size_t> situations,
                           const std::set<std::string>* missing) const {
  Sums sums = NoSums();
  if (IsByValues(rows, situations, missing)) {
    TakeByValues(sums, [&](std::size_t, const Known& known) {
      TakeFrom(rows, known, columns, missing, sums);
    });
  } else {
    for (const std::size_t s : situations) {
      for (const Known& known : of_situation_[s]) TakeFrom(rows, known, columns, missing, sums);
    }
  }
  Weighed weighed;
  weighed.log_like = sums.log_like + LogLikelihood(sums.blocks, columns, &weighed.shared);
  weighed.log_like += ends_.LogLike() - CostOfSupply(weighed.shared);
  weighed.glitches = sums.glitches;
  return weighed;
}

double Weigher::AtMost(const ValueRows& rows, const Sensitivities& columns,
                       std::span<const std::size_t> situations,
                       const std::set<std::string>* missing,
                       const std::vector<std::vector<bool>>& left_out) const {
  Sums sums = NoSums();
  const auto take = [&](std::size_t s, const Known& known) {
    const Fact& fact = known.fact;
    if (!left_out[s][fact.value] || facts_.At(rows, fact, missing).is_none()) {
      TakeFrom(rows, known, columns, missing, sums);
    } else if (fact.block >= 0) {
      sums.log_like += PeakOf(fact);
    }
  };
  if (IsByValues(rows, situations, missing) && AddLeftOut(left_out)) {
    TakeByValues(sums, take);
  } else {
    for (const std::size_t s : situations) {
      for (const Known& known : of_situation_[s]) take(s, known);
    }
  }
  return sums.log_like + LogLikelihood(sums.blocks, columns);
}

// As Take, with errors at least as large.
double Weigher::LeastLostBy(const Fact& fact, const ValueRows& rows, const ValueRows& base,
                            const Sensitivities& columns) const {
  const Prediction predicted = facts_.At(rows, fact);
  if (IsNoNumber(fact, predicted)) {
    bool glitch = false;
    return CostOfState(fact, predicted, glitch) + PeakOf(fact);
  }
  if (!predicted.is_value()) return 0;
  const int state = facts_.FaultOf(fact.value);
  const std::size_t s = fact.situation;
  const bool replaced = state >= 0 && !(Nth(rows[s], state) == Nth(base[s], state));
  const double moved = std::abs(predicted.low() - Middle(facts_.At(base, fact)));
  const double felt =
      std::sqrt(columns.SquaredRowNorm(fact.block)) + (replaced ? 0 : kMostFelt * moved);
  const double common = Nth(facts_.blocks(), fact.block).common + kCommonShare * moved;
  const double all = fact.noise * fact.noise + common * common + felt * felt;
  const double cost = (fact.seen - predicted.low()) * (fact.seen - predicted.low()) / (2 * all);
  if (cost <= kGlitch) return 0;
  const double limit = kGlitch + std::max(0.0, std::log(fact.span / fact.noise));
  return cost <= limit ? 0 : kGlitch + std::log(fact.span) + PeakOf(fact);
}

double Weigher::LeastLost(const Unplayed& now, const ValueRows& base, const Sensitivities& columns,
                          std::span<const std::size_t> situations,
                          const std::vector<std::vector<bool>>& moved) const {
  double lost = 0;
  const auto take = [&](std::size_t s, const Known& known) {
    const Fact& fact = known.fact;
    if (!moved[s][fact.value] || now.left_out[s][fact.value]) return;
    lost += LeastLostBy(fact, now.rows, base, columns);
  };
  moved_.assign(wholes_.size(), 0);
  if (situations.size() == of_situation_.size() && AddLeftOut(moved)) {
    for (std::size_t v = 0; v < wholes_.size(); ++v) {
      if (!moved_[v]) continue;
      for (const auto& [s, i] : wholes_[v].facts) take(s, of_situation_[s][i]);
    }
  } else {
    for (const std::size_t s : situations) {
      for (const Known& known : of_situation_[s]) take(s, known);
    }
  }
  return lost;
}

double Weigher::Expected(const ValueRows& rows, const Sensitivities& columns,
                         std::span<const std::size_t> situations) const {
  Sums sums = NoSums();
  for (const std::size_t s : situations) {
    for (const Known& known : of_situation_[s]) {
      const Fact& fact = known.fact;
      if (fact.state || fact.block < 0) continue;
      sums.blocks.Add(fact.block, 0, fact.noise);
      if (!IsReplaced(rows, fact)) sums.log_like -= kLeastOfNoise;
    }
  }
  return sums.log_like + LogLikelihood(sums.blocks, columns);
}

int Weigher::Surprises(const ValueRows& rows, const Sensitivities& columns,
                       const Eigen::VectorXd& shared, const std::set<std::string>* missing) const {
  const Eigen::VectorXd moved = columns.Times(shared);
  int surprises = 0;
  for (const Fact& fact : facts_.all()) {
    const Prediction predicted = facts_.At(rows, fact, missing);
    if (IsNoNumber(fact, predicted)) {
      bool glitch = false;
      CostOfState(fact, predicted, glitch);
      surprises += glitch;
      continue;
    }
    const double common = std::max(Nth(facts_.blocks(), fact.block).common,
                                   kSurprisingShare * ShiftOf(rows, fact, predicted));
    const double own = std::hypot(fact.noise, common, predictor_.readings()[fact.reading].sigma);
    const double off = predicted.Distance(fact.seen - moved[fact.block]);
    if (off > kSurprisingZ * own) ++surprises;
  }
  return surprises;
}

double Weigher::CostAlone(const Fact& fact, const ValueRows& rows,
                          const Sensitivities& columns) const {
  const Prediction predicted = facts_.At(rows, fact);
  if (fact.state || fact.block < 0 || !predicted.is_value()) {
    bool glitch = false;
    return CostOfState(fact, predicted, glitch);
  }
  const double common = Nth(facts_.blocks(), fact.block).common;
  const double all = fact.noise * fact.noise + common * common + columns.SquaredRowNorm(fact.block);
  const double residual = fact.seen - Middle(predicted);
  return std::min(residual * residual / (2 * all), 2 * kGlitch);
}

// Of what was seen, errors independent: with the density, so that a band is paid for.
double Weigher::CostByItself(const Fact& fact, const Prediction& predicted, double variance) const {
  bool glitch = false;
  if (IsNoNumber(fact, predicted)) {
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
  const double common = Nth(facts_.blocks(), fact.block).common;
  const double all = fact.noise * fact.noise + width * width + common * common + variance;
  const double residual = fact.seen - Middle(predicted);
  return std::min(residual * residual / (2 * all) + std::log(all) / 2,
                  kGlitch + std::log(fact.span));
}

bool Weigher::Alike(const ValueRows& a, const ValueRows& b, const Sensitivities& columns,
                    double most_chi2, const std::set<std::string>* missing_a,
                    const std::set<std::string>* missing_b) const {
  BlockSums &difference = sums_, &none = other_;
  difference.Clear(), none.Clear();
  const auto variance = [&](const Fact& fact) {
    return fact.block < 0 ? 0 : columns.SquaredRowNorm(fact.block);
  };
  double states = 0;
  bool apart = false;
  // Of what was read: a state between them, or by how much they differ.
  const auto take = [&](std::size_t, const Known& known) {
    const Fact& fact = facts_.all()[known.number];
    const Prediction one = facts_.At(a, fact, missing_a), other = facts_.At(b, fact, missing_b);
    apart = apart || one.is_none() != other.is_none();
    if (apart || one.is_none()) return;
    if (fact.state || fact.block < 0) {
      apart = one.low() > other.high() + 0.5 || other.low() > one.high() + 0.5;
    }
    // What comes and goes would fit much: by what was seen.
    if (fact.state || fact.block < 0 || !one.is_value() || !other.is_value()) {
      states += std::abs(CostByItself(fact, one, variance(fact)) -
                         CostByItself(fact, other, variance(fact)));
      apart = apart || states > most_chi2 / 2;
      return;
    }
    const double common = difference.Raise(fact.block, kCommonShare * ShiftOf(a, fact, one));
    none.Raise(fact.block, common);
    difference.Add(fact.block, Middle(one) - Middle(other), fact.noise);
    none.Add(fact.block, 0, fact.noise);
  };
  const auto none_missing = [](const std::set<std::string>* m) {
    return m == nullptr || m->empty();
  };
  const auto& healthy = predictor_.healthy_values();
  moved_.assign(wholes_.size(), 0);
  const bool by_values = none_missing(missing_a) && none_missing(missing_b) &&
                         FindMoved(a, healthy) && FindMoved(b, healthy) && AreFew();
  for (std::size_t v = 0; v < wholes_.size() && by_values && !apart; ++v) {
    const Whole& whole = wholes_[v];
    if (moved_[v] || !whole.is_certain) {
      for (const auto& [s, i] : whole.facts) take(s, of_situation_[s][i]);
      continue;
    }
    for (auto [block, sum] : whole.blocks) {
      sum.wr = sum.wrr = 0;  // they are the same
      difference.Add(block, sum), none.Add(block, sum);
    }
  }
  for (std::size_t s = 0; s < of_situation_.size() && !by_values && !apart; ++s) {
    for (const Known& known : of_situation_[s]) take(s, known);
  }
  if (apart) return false;
  const double chi2 = 2 * (LogLikelihood(none, columns) - LogLikelihood(difference, columns));
  return chi2 < most_chi2;
}

}  // namespace drycrank::diagnose
