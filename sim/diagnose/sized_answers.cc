// SPDX-License-Identifier: Apache-2.0
#include "diagnose/sized_answers.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>
#include <variant>

#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

constexpr double kLeastSpread = 0.5, kMostSpread = 3;
constexpr double kReach = 2.8;                // deviations to each side
constexpr int kSides = 4, kSidesOfWide = 8;   // sizes to each side that are worked out
constexpr int kBetween = 8;                   // steps from one to the next
const double kNothing = -std::numeric_limits<double>::infinity();

double LogSum(double a, double b) {
  const double high = std::max(a, b);
  return high == kNothing ? high : high + std::log(std::exp(a - high) + std::exp(b - high));
}

// Meters and values are straight between two sizes; states and yes or no are the nearer one's.
Foretold Between(const MeasuredModel& model, const Test& test, const Foretold& a,
                 const Foretold& b, double share) {
  const auto mix = [&](double one, double other) { return one + share * (other - one); };
  Foretold between = share < 0.5 ? a : b;
  if (std::holds_alternative<Probing>(test)) {
    between.meter = {mix(a.meter.y, b.meter.y), mix(a.meter.sigma, b.meter.sigma)};
  } else if (const auto* signal = std::get_if<SignalTest>(&test)) {
    const bool discrete = Nth(model.predictor().readings(), signal->reading).discrete;
    if (!discrete && a.signal.is_value() && b.signal.is_value()) {
      between.signal = Prediction::Value(mix(a.signal.low(), b.signal.low()));
    }
  }
  return between;
}

// The sums over sizes.
class Averaged {
 public:
  Averaged(const MeasuredModel& model, std::span<const Answered> answers)
      : model_(model), answers_(answers), each_(answers.size(), kNothing) {}

  void Add(double value, double log_weight, const std::vector<Foretold>& foretold) {
    double all = log_weight;
    for (std::size_t a = 0; a < answers_.size(); ++a) {
      const double one = model_.LogLikelihood(answers_[a], foretold[a]);
      each_[a] = LogSum(each_[a], log_weight + one);
      all += one;
    }
    total_ = LogSum(total_, all);
    weights_ = LogSum(weights_, log_weight);
    if (all <= best_) return;
    best_ = all;
    value_ = value;
  }

  AnswersWeighed Result() && {
    for (double& one : each_) one -= weights_;
    return {total_ - weights_, std::move(each_), value_};
  }

 private:
  const MeasuredModel& model_;
  std::span<const Answered> answers_;
  std::vector<double> each_;
  double total_ = kNothing, weights_ = kNothing, best_ = kNothing, value_ = 0;
};

std::vector<Foretold> ForetellAll(MeasuredModel& model, std::span<const Answered> answers,
                                  const Hypothesis& hypothesis) {
  std::vector<Foretold> all;
  for (const Answered& answered : answers) {
    all.push_back(model.Foretell(answered.test, hypothesis.faults));
  }
  return all;
}

}  // namespace

AnswersWeighed WeighAnswers(MeasuredModel& model, std::span<const Answered> answers,
                            const Hypothesis& hypothesis, double spread) {
  Averaged averaged(model, answers);
  if (answers.empty()) return {0, {}, hypothesis.value};
  if (hypothesis.quantity != Quantity::kOhm) {
    averaged.Add(hypothesis.value, 0, ForetellAll(model, answers, hypothesis));
    return std::move(averaged).Result();
  }
  const double wide = std::clamp(spread, kLeastSpread, kMostSpread);
  const int sides = wide > kLeastSpread ? kSidesOfWide : kSides;
  const double step = kReach * wide / sides;
  std::vector<Foretold> here, next;
  for (int i = -sides; i <= sides; ++i) {
    here = std::move(next);
    next = ForetellAll(model, answers,
                       WithValue(hypothesis, hypothesis.value * std::exp(i * step)));
    for (int k = 0; k < (i == -sides ? 0 : kBetween); ++k) {
      const double share = (k + 0.5) / kBetween, x = (i - 1 + share) * step, z = x / wide;
      std::vector<Foretold> between;
      for (std::size_t a = 0; a < answers.size(); ++a) {
        between.push_back(Between(model, answers[a].test, here[a], next[a], share));
      }
      averaged.Add(hypothesis.value * std::exp(x), -0.5 * z * z, between);
    }
  }
  return std::move(averaged).Result();
}

}  // namespace drycrank::diagnose
