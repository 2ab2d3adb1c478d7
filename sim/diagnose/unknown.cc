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
      : facts_(facts),
        healthy_(healthy),
        columns_(columns),
        broad_(columns),
        of_(static_cast<std::size_t>(facts.channels())),
        sums_(CommonOf(facts)) {
    for (const Fact& fact : facts.all()) Nth(of_, facts.ChannelOf(fact.value)).push_back(&fact);
    for (int i = 0; i < 2; ++i) broad_.Append(Eigen::VectorXd::Zero(columns.rows()));
  }

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

  double With(int bad) {
    std::vector<bool> good(static_cast<std::size_t>(facts_.channels()), true);
    Nth(good, bad) = false;
    const double of_bad = Bad(bad);
    return of_bad + Together(good);
  }

 private:
  // A number that cannot be healthy at all, or a state that is not: a glitch.
  double Take(const Fact& fact) {
    const Prediction predicted = facts_.At(healthy_, fact);
    const bool silent = std::isnan(fact.seen);
    if (predicted.is_none() && silent) return 0;
    if (predicted.is_none() || silent) return -kGlitch;
    if (fact.state) return predicted.Distance(fact.seen) < 0.5 ? 0 : -kGlitch;
    sums_.Add(fact.block, fact.seen - Middle(predicted), fact.noise);
    return 0;
  }

  double Healthy(int channel) {
    sums_.Clear();
    double states = 0;
    for (const Fact* fact : Nth(of_, channel)) states += Take(*fact);
    return states + LogLikelihood(sums_, columns_);
  }

  double Together(const std::vector<bool>& good) {
    sums_.Clear();
    double states = 0;
    for (const Fact& fact : facts_.all()) {
      if (Nth(good, facts_.ChannelOf(fact.value))) states += Take(fact);
    }
    return states + LogLikelihood(sums_, columns_);
  }

  // Any offset, any gain, anything at each setting; or now as healthy, now anything at all.
  double Bad(int channel) { return std::max(Off(channel), Erratic(channel)); }

  double Erratic(int channel) const {
    double out = -kRarerThanOff;
    for (const Fact* of : Nth(of_, channel)) {
      const Fact& fact = *of;
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

  // What the channel mostly is: there its gain moves nothing.
  double MeanOf(int channel) const {
    double mean = 0, count = 0;
    for (const Fact* fact : Nth(of_, channel)) {
      if (fact->block < 0) continue;
      const Prediction predicted = facts_.At(healthy_, *fact);
      mean += predicted.is_none() ? fact->seen : Middle(predicted);
      count += 1;
    }
    return mean / std::max(count, 1.0);
  }

  // One value, one set of columns: offset and gain of that channel on top of the others.
  double Off(int channel) {
    sums_.Clear();
    const double mean = MeanOf(channel);
    std::set<std::tuple<std::size_t, double, double>> words;
    for (const Fact* of : Nth(of_, channel)) {
      const Fact& fact = *of;
      const Prediction predicted = facts_.At(healthy_, fact);
      const bool silent = std::isnan(fact.seen);
      if (fact.state || silent) {
        const double expected = predicted.is_none() ? -1e9 : predicted.low();
        words.emplace(fact.value, expected, silent ? -1e9 : fact.seen);
        continue;
      }
      const double healthy = predicted.is_none() ? mean : Middle(predicted);
      sums_.Add(fact.block, fact.seen - healthy, fact.noise);
      SetBroad(fact.block, kOffsetShare * fact.span, kGainShare * (healthy - mean));
      sums_.Raise(fact.block,
                  std::hypot(Nth(facts_.blocks(), fact.block).common, kSettingShare * fact.span));
    }
    const double numbers = LogLikelihood(sums_, broad_);
    for (const Eigen::Index block : sums_.touched()) SetBroad(block, 0, 0);
    return numbers + static_cast<double>(words.size()) * std::log(kStateShare);
  }

  void SetBroad(Eigen::Index block, double offset, double gain) {
    const Eigen::Index last = broad_.whole().cols() - 1;
    broad_.Whole(block, last - 1) = offset;
    broad_.Whole(block, last) = gain;
  }

  const Facts& facts_;
  const ValueRows& healthy_;
  const Sensitivities& columns_;
  Sensitivities broad_;  // behind them offset and gain of one channel, zero but in Off
  std::vector<std::vector<const Fact*>> of_;  // each channel's
  BlockSums sums_;                            // scratch
};

}  // namespace

double Unknown(const Facts& facts, const ValueRows& healthy, const Sensitivities& columns) {
  return Channels(facts, healthy, columns).All();
}

double AnythingAt(const Facts& facts, const ValueRows& healthy, const Sensitivities& columns,
                  int channel) {
  return Channels(facts, healthy, columns).With(channel);
}

}  // namespace drycrank::diagnose
