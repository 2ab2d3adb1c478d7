// SPDX-License-Identifier: Apache-2.0
#include "diagnose/unknown.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>
#include <tuple>
#include <vector>

#include "diagnose/noise.h"
#include "diagnose/weigh.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

constexpr double kBadShare = 0.25, kStateShare = 0.3;
constexpr double kOffsetShare = 1.0 / 3, kGainShare = 0.6, kSettingShare = 0.05;

constexpr double kRarerThanOff = 14;  // nats
constexpr double kTwoPi = 2 * std::numbers::pi;

double Middle(const Prediction& p) { return (p.low() + p.high()) / 2; }

class Channels {
 public:
  Channels(const Facts& facts, const ValueRows& healthy, const Sensitivities& columns)
      : facts_(facts), healthy_(healthy), columns_(columns) {}

  double All() {
    std::vector<bool> good(static_cast<std::size_t>(facts_.channels()), true);
    double out = 0;
    for (int channel = 0; channel < facts_.channels(); ++channel) {
      const double as_healthy = std::log(1 - kBadShare) + Healthy(channel);
      const double as_bad = std::log(kBadShare) + Bad(channel);
      if (as_healthy >= as_bad) {
        out += std::log(1 - kBadShare);
        continue;
      }
      Nth(good, channel) = false;
      out += as_bad;
    }
    return out + Together(good);
  }

 private:
  bool IsIn(const Fact& fact, int channel) const { return facts_.ChannelOf(fact.value) == channel; }
  BlockSums Sums() const {
    BlockSums sums(columns_.rows());
    for (Eigen::Index b = 0; b < columns_.rows(); ++b) {
      sums.common[b] = Nth(facts_.blocks(), b).common;
    }
    return sums;
  }

  // A number that cannot be healthy at all, or a state that is not: a glitch.
  double Take(const Fact& fact, BlockSums& sums) const {
    const Prediction predicted = facts_.At(healthy_, fact);
    const bool silent = std::isnan(fact.seen);
    if (predicted.is_none() && silent) return 0;
    if (predicted.is_none() || silent) return -kGlitch;
    if (fact.state) return predicted.Distance(fact.seen) < 0.5 ? 0 : -kGlitch;
    sums.Add(fact.block, fact.seen - Middle(predicted), fact.noise);
    return 0;
  }

  double Healthy(int channel) const {
    BlockSums sums = Sums();
    double states = 0;
    for (const Fact& fact : facts_.all()) {
      if (IsIn(fact, channel)) states += Take(fact, sums);
    }
    return states + LogLikelihood(sums, columns_);
  }

  double Together(const std::vector<bool>& good) const {
    BlockSums sums = Sums();
    double states = 0;
    for (const Fact& fact : facts_.all()) {
      if (Nth(good, facts_.ChannelOf(fact.value))) states += Take(fact, sums);
    }
    return states + LogLikelihood(sums, columns_);
  }

  // Any offset, any gain, anything at each setting; or now as healthy, now anything at all.
  double Bad(int channel) const { return std::max(Off(channel), Erratic(channel)); }

  double Erratic(int channel) const {
    double out = -kRarerThanOff;
    for (const Fact& fact : facts_.all()) {
      if (!IsIn(fact, channel)) continue;
      const Prediction predicted = facts_.At(healthy_, fact);
      const bool none = predicted.is_none() || std::isnan(fact.seen);
      if (fact.state || fact.block < 0 || none) {
        const bool same =
            predicted.is_none() ? std::isnan(fact.seen) : predicted.Distance(fact.seen) < 0.5;
        out += std::log(same ? 1 - kBadShare : kBadShare);
        continue;
      }
      const double common = Nth(facts_.blocks(), fact.block).common;
      const double variance =
          fact.noise * fact.noise + common * common + columns_.SquaredRowNorm(fact.block);
      const double residual = fact.seen - Middle(predicted);
      const double density =
          std::exp(-residual * residual / (2 * variance)) / std::sqrt(kTwoPi * variance);
      out += std::log((1 - kBadShare) * density + kBadShare / fact.span);
    }
    return out;
  }

  double Off(int channel) const {
    // One value, one set of columns: offset and gain of that channel on top of the others.
    BlockSums sums = Sums();
    Eigen::VectorXd offset = Eigen::VectorXd::Zero(columns_.rows()), gain = offset;
    double states = 0, mean = 0, count = 0;
    std::set<std::tuple<std::size_t, double, double>> words;
    for (const Fact& fact : facts_.all()) {
      if (!IsIn(fact, channel) || fact.block < 0) continue;
      const Prediction predicted = facts_.At(healthy_, fact);
      mean += predicted.is_none() ? fact.seen : Middle(predicted);
      count += 1;
    }
    mean /= std::max(count, 1.0);
    for (const Fact& fact : facts_.all()) {
      if (!IsIn(fact, channel)) continue;
      const Prediction predicted = facts_.At(healthy_, fact);
      const bool silent = std::isnan(fact.seen);
      if (fact.state || silent) {
        const double expected = predicted.is_none() ? -1e9 : predicted.low();
        words.emplace(fact.value, expected, silent ? -1e9 : fact.seen);
        continue;
      }
      const double healthy = predicted.is_none() ? mean : Middle(predicted);
      sums.Add(fact.block, fact.seen - healthy, fact.noise);
      offset[fact.block] = kOffsetShare * fact.span;
      gain[fact.block] = kGainShare * (healthy - mean);
      sums.common[fact.block] =
          std::hypot(Nth(facts_.blocks(), fact.block).common, kSettingShare * fact.span);
    }
    states += static_cast<double>(words.size()) * std::log(kStateShare);
    Sensitivities broad = columns_;
    broad.Append(offset);
    broad.Append(gain);
    return states + LogLikelihood(sums, broad);
  }

  const Facts& facts_;
  const ValueRows& healthy_;
  const Sensitivities& columns_;
};

}  // namespace

double Unknown(const Facts& facts, const ValueRows& healthy, const Sensitivities& columns) {
  return Channels(facts, healthy, columns).All();
}

}  // namespace drycrank::diagnose
