// SPDX-License-Identifier: Apache-2.0
//
// What comes and goes, and sensors of another curve: fitted in ways of their own, on top of what is
// there.
#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>
#include <numbers>
#include <string>

#include "diagnose/other_curve.h"
#include "diagnose/race.h"
#include "diagnose/size_scale.h"
#include "diagnose/suspects.h"
#include "diagnose/unplayed.h"
#include "profile/sensors.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

constexpr std::size_t kOwnComing = 40;
constexpr double kTellsWhether = 0.5;       // nats: a step in which it would show
constexpr double kSurprising = 8;           // nats: more than any error makes of a number
constexpr std::size_t kMostSurprising = 4;  // channels: one contact spoils few
constexpr int kSizesTried = 12, kHalves = 24;
constexpr double kAside = 0.01;        // of ln R
constexpr double kComesAndGoes = 0.2;  // as often as that it stays: common practice, no source

// log of the integral of p^there (1 - p)^(could - there) over p: how often it is there is not
// known.
double LogOfPattern(std::size_t there, std::size_t could) {
  const auto log_factorial = [](std::size_t n) { return std::lgamma(static_cast<double>(n) + 1); };
  return log_factorial(there) + log_factorial(could - there) - log_factorial(could + 1);
}

}  // namespace

// A fault that is there in the steps that it explains better than what it comes on top of does;
// which they are is paid for. No faults: always or never.
Race::Runner Race::InSomeSteps(const Hypothesis& hypothesis, const ValueRows& rows,
                               const Runner& on) const {
  const ValueRows& without = on.wiring.rows;
  const std::vector<double> gain = weigher_.GainOf(rows, without, ColumnsOf(on));
  Hypothesis some = hypothesis;
  some.kind = "comes and goes";
  some.prior *= kComesAndGoes;
  Runner runner = on;
  std::size_t there = 0, could = 0;
  for (std::size_t s = 0; s < rows.size(); ++s) {
    if (std::abs(gain[s]) < kTellsWhether) continue;
    ++could;
    if (gain[s] <= 0) continue;
    ++there;
    runner.wiring.rows[s] = rows[s];
    auto& during = some.faults[0].during;
    const std::string& step = predictor_.situations()[s].name;
    if (std::ranges::count(during, step) == 0) during.push_back(step);
  }
  runner.wiring.hypothesis = Both(on.wiring.hypothesis, some);
  if (there == 0 || there == could) runner.wiring.hypothesis.faults.clear();
  AreaOfLast(runner) += LogOfPattern(there, could);
  return runner;
}

// A value that is replaced by a fallback moves with nothing: which blocks have one.
std::vector<bool> Race::ReplacedBy(const ValueRows& rows, const Runner& on) const {
  std::vector<bool> replaced;
  for (const Block& block : facts_.blocks()) {
    const int state = facts_.FaultOf(block.value);
    const ControllerValues &now = rows[block.situation], &then = on.wiring.rows[block.situation];
    const bool both = state >= 0 && !now.empty() && !then.empty();
    replaced.push_back(both && !(Nth(now, state) == Nth(then, state)));
  }
  return replaced;
}

void Race::ComingAndGoing(const Runner& on, const Solver& solver) {
  std::vector<Runner> found;
  for (const Hypothesis& suspect : suspects_) {
    const bool wire = suspect.kind == "wire open" || suspect.kind == "contact open";
    if (!wire || !solver.MovesAKey(suspect)) continue;
    const std::vector<profile::Fault> faults = Both(on.wiring.hypothesis, suspect).faults;
    Runner runner = InSomeSteps(suspect, nuisances_.ValuesOf(faults, nuisances_.everywhere()), on);
    if (runner.wiring.hypothesis.faults.empty()) continue;
    WeighAsItIs(runner, ColumnsOf(on));
    found.push_back(std::move(runner));
  }
  std::stable_sort(found.begin(), found.end(), IsLikelier);
  for (std::size_t i = 0; i < found.size() && i < kOwnComing; ++i) {
    WeighAsItIs(found[i], ColumnsOf(on).Without(ReplacedBy(found[i].wiring.rows, on)));
  }
  std::ranges::move(found, std::back_inserter(runners_));
}

// Of each channel the fact that surprises a healthy bench most.
std::vector<std::size_t> Race::MostSurprising() const {
  std::map<int, std::pair<double, std::size_t>> worst;
  for (std::size_t f = 0; f < facts_.all().size(); ++f) {
    const Fact& fact = facts_.all()[f];
    if (fact.state || fact.block < 0) continue;
    const double cost = weigher_.CostAlone(fact, solver_.rows(), solver_.columns());
    auto& [most, which] = worst[facts_.ChannelOf(fact.value)];
    if (cost > most) most = cost, which = f;
  }
  std::vector<std::size_t> facts;
  for (const auto& [channel, found] : worst) {
    if (found.first > kSurprising) facts.push_back(found.second);
  }
  return facts;
}

// How far what it predicts of the fact is from what was seen; NaN where it is no value.
double Race::OffAt(const Hypothesis& hypothesis, double x, const Fact& fact) const {
  const std::size_t one[] = {fact.situation};
  const Hypothesis sized = WithValue(hypothesis, FromScale(hypothesis, x));
  const Prediction predicted = facts_.At(nuisances_.ValuesOf(sized.faults, one), fact);
  return predicted.is_value() ? predicted.low() - fact.seen : std::nan("");
}

// By halves, between two sizes of a few tried ones.
std::optional<double> Race::SizeThatGives(const Hypothesis& hypothesis, const Fact& fact) const {
  const double step = (High(hypothesis) - Low(hypothesis)) / kSizesTried;
  double a = Low(hypothesis), off_a = OffAt(hypothesis, a, fact);
  for (int i = 1; i <= kSizesTried; ++i) {
    double b = Low(hypothesis) + i * step;
    const double off_b = OffAt(hypothesis, b, fact);
    if (!(off_a * off_b < 0)) {
      a = b, off_a = off_b;
      continue;
    }
    for (int k = 0; k < kHalves; ++k) {
      const double middle = (a + b) / 2;
      (off_a * OffAt(hypothesis, middle, fact) > 0 ? a : b) = middle;
    }
    return (a + b) / 2;
  }
  return std::nullopt;
}

// Ohms that come and go: of the size that gives what surprises most. Where more than one thing that stays
// would have to be wrong, for it is dear.
void Race::OhmsComingAndGoing() {
  if (!runners_.empty() && !IsWorthASecond(runners_.front())) return;
  const std::vector<std::size_t> surprising = MostSurprising();
  if (surprising.size() > kMostSurprising) return;
  for (const Hypothesis& suspect : suspects_) {
    if (suspect.kind != "series resistance" || !solver_.MovesAKey(suspect)) continue;
    for (const std::size_t f : surprising) {
      const Fact& fact = facts_.all()[f];
      const auto x = SizeThatGives(suspect, fact);
      if (!x) continue;
      const Hypothesis sized = WithValue(suspect, FromScale(suspect, *x));
      Runner runner =
          InSomeSteps(sized, nuisances_.ValuesOf(sized.faults, nuisances_.everywhere()), healthy_);
      if (runner.wiring.hypothesis.faults.empty()) continue;
      // The size is known as well as the fact is.
      const double slope =
          (OffAt(suspect, *x + kAside, fact) - OffAt(suspect, *x - kAside, fact)) / (2 * kAside);
      const double known = fact.noise / std::max(std::abs(slope), 1e-12);
      const double range = High(suspect) - Low(suspect);
      runner.wiring.log_area +=
          std::min(0.0, std::log(known * std::sqrt(2 * std::numbers::pi) / range));
      WeighAsItIs(runner, solver_.columns());
      runners_.push_back(std::move(runner));
    }
  }
  std::stable_sort(runners_.begin(), runners_.end(), IsLikelier);
}

// Each setting of a sensor has faults of its own; on top of what is there already.
void Race::OtherCurves(const Runner& on, const Solver& solver) {
  for (const Hypothesis& suspect : suspects_) {
    if (suspect.kind != kOtherCurve || !solver.MovesAKey(suspect)) continue;
    const std::string& at = suspect.faults[0].at;
    if (std::ranges::any_of(on.wiring.hypothesis.faults,
                            [&](const auto& f) { return f.at == at; })) {
      continue;
    }
    const auto& sensors = predictor_.bench().sensors;
    const auto& sensor = Nth(sensors, profile::IndexOf(sensors, at));
    const auto other = OtherCurveOf(predictor_, facts_, sensor);
    if (!other) continue;
    Hypothesis curve = suspect;
    curve.faults = Lasting(*other, predictor_.situations());
    Runner runner = on;
    runner.wiring.hypothesis = Both(on.wiring.hypothesis, curve);
    runner.wiring.rows =
        nuisances_.ValuesOf(runner.wiring.hypothesis.faults, nuisances_.everywhere());
    AreaOfLast(runner) += other->log_area;
    WeighAsItIs(runner, ColumnsOf(on));
    runners_.push_back(std::move(runner));
  }
}

// At this size, with these sensitivities but for its shift.
void Race::WeighAsItIs(Runner& runner, const Sensitivities& columns) const {
  runner.columns = columns;
  nuisances_.SetShift(runner.wiring.rows, runner.columns);
  const Weighed weighed = weigher_.Weigh(runner.wiring.rows, runner.columns,
                                         nuisances_.everywhere(), &runner.wiring.missing);
  runner.wiring.log_like = weighed.log_like;
  runner.wiring.shared = weighed.shared;
  Weigh(runner);
}

}  // namespace drycrank::diagnose
