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
constexpr double kLeastOhm = 1e-3;            // less is none
constexpr double kPlainOhm = 0.1;             // what two pins that touch have
constexpr double kReach = 2.8;                // deviations to each side
constexpr int kSteps = 8, kStepsOfWide = 16;  // between sizes that are worked out
constexpr double kWideRange = 1;              // of ln R
constexpr int kBetween = 16;                  // steps from one to the next
const double kNothing = -std::numeric_limits<double>::infinity();

double LogSum(double a, double b) {
  const double high = std::max(a, b);
  return high == kNothing ? high : high + std::log(std::exp(a - high) + std::exp(b - high));
}

// What is foretold of one test at one size.
struct AtSize {
  double ohm = 0;
  const Foretold& foretold;
};

// Of volts, ohms and amperes of a network with one R in it, which are (a + b R) / (c + d R): by three sizes the
// whole curve is known, since cross ratios are the same. NaN: no such curve.
double OnTheCurve(Meter meter, double ohm, const AtSize& other, const AtSize& a, const AtSize& b) {
  const auto shown = [&](const AtSize& at) { return FromScale(meter, at.foretold.meter.y); };
  const double y0 = shown(other), y1 = shown(a), y2 = shown(b);
  const double of_sizes =
      (ohm - a.ohm) * (b.ohm - other.ohm) / ((ohm - other.ohm) * (b.ohm - a.ohm));
  const double k = of_sizes * (y2 - y1) / (y2 - y0);
  const double y = (y1 - k * y0) / (1 - k);
  return y >= std::min(y1, y2) && y <= std::max(y1, y2) ? OnScale(meter, y) : std::nan("");
}

// Meters follow their curve; values are straight between two sizes; states and yes or no are the nearer
// one's. `share`: of the way from a to b.
Foretold Between(const MeasuredModel& model, const Test& test, double ohm, double share,
                 const AtSize& other, const AtSize& a, const AtSize& b) {
  const auto mix = [&](double one, double two) { return one + share * (two - one); };
  Foretold between = share < 0.5 ? a.foretold : b.foretold;
  if (const auto* probing = std::get_if<Probing>(&test)) {
    const Spread &from = a.foretold.meter, &to = b.foretold.meter;
    const double y = OnTheCurve(probing->meter, ohm, other, a, b);
    between.meter = {std::isnan(y) ? mix(from.y, to.y) : y, mix(from.sigma, to.sigma)};
  } else if (const auto* signal = std::get_if<SignalTest>(&test)) {
    const bool discrete = Nth(model.predictor().readings(), signal->reading).discrete;
    const Prediction &from = a.foretold.signal, &to = b.foretold.signal;
    if (!discrete && from.is_value() && to.is_value()) {
      between.signal = Prediction::Value(mix(from.low(), to.low()));
    }
  }
  return between;
}

// Those that are averaged over, by ln R.
struct Sizes {
  double low, high, spread;
  int steps;

  double First() const { return low - kReach * spread; }
  double Last() const { return high + kReach * spread; }
  double LogWeight(double x) const {
    const double z = std::max({low - x, x - high, 0.0}) / spread;
    return -0.5 * z * z;
  }
};

Sizes SizesOf(const Hypothesis& hypothesis, const SizeKnown& known) {
  const double low = std::log(std::max(known.low, kLeastOhm));
  const double high = std::log(std::max(known.high, kLeastOhm));
  if (high - low > kWideRange) return {low, high, kLeastSpread, kStepsOfWide};
  const double x = std::log(std::max(hypothesis.value, kLeastOhm));
  const double spread = std::clamp(known.spread, kLeastSpread, kMostSpread);
  return {x, x, spread, spread > kLeastSpread ? kStepsOfWide : kSteps};
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
    const double alone = all - std::max(log_weight, 0.0);  // one size, however likely it was
    if (alone <= best_) return;
    best_ = alone;
    value_ = value;
  }

  double log_weights() const { return weights_; }

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
                            const Hypothesis& hypothesis, const SizeKnown& known) {
  Averaged averaged(model, answers);
  if (answers.empty()) return {0, {}, hypothesis.value};
  if (hypothesis.quantity != Quantity::kOhm) {
    averaged.Add(hypothesis.value, 0, ForetellAll(model, answers, hypothesis));
    return std::move(averaged).Result();
  }
  const Sizes sizes = SizesOf(hypothesis, known);
  const double step = (sizes.Last() - sizes.First()) / sizes.steps;
  std::vector<std::vector<Foretold>> at;  // by size
  const auto ohm_at = [&](double i) { return std::exp(sizes.First() + i * step); };
  for (int i = 0; i <= sizes.steps; ++i) {
    at.push_back(ForetellAll(model, answers, WithValue(hypothesis, ohm_at(i))));
  }
  for (int i = 0; i < sizes.steps; ++i) {
    const int other = i > 0 ? i - 1 : 2;
    for (int k = 0; k < kBetween; ++k) {
      const double share = (k + 0.5) / kBetween, ohm = ohm_at(i + share);
      std::vector<Foretold> between;
      for (std::size_t a = 0; a < answers.size(); ++a) {
        between.push_back(Between(model, answers[a].test, ohm, share,
                                  {ohm_at(other), Nth(at, other)[a]}, {ohm_at(i), Nth(at, i)[a]},
                                  {ohm_at(i + 1), Nth(at, i + 1)[a]}));
      }
      averaged.Add(ohm, sizes.LogWeight(std::log(ohm)), between);
    }
  }
  // Metal on metal is as likely as all that is chafed or damp.
  const bool plain = sizes.high > sizes.low && known.low <= kPlainOhm;
  if (plain) {
    averaged.Add(known.low, averaged.log_weights(),
                 ForetellAll(model, answers, WithValue(hypothesis, known.low)));
  }
  return std::move(averaged).Result();
}

}  // namespace drycrank::diagnose
