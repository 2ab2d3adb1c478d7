// SPDX-License-Identifier: Apache-2.0
//
// Sizes of a wheel's fault from the edges that were seen.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "diagnose/edges.h"
#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;

constexpr double kMostTurnedDeg = 180, kShareTurnedFar = 0.1;  // common practice, no source
constexpr double kMostRunoutDeg = 10, kMeanRunoutDeg = 2;      // the same
constexpr int kHalvings = 5;
const double kWidthDeg = Edges::kDeviationDeg * std::sqrt(2 * std::numbers::pi);

}  // namespace

const Edges::Moment* Edges::Worst() const {
  const auto worst = std::ranges::max_element(moments_, {}, &Moment::healthy);
  return worst == moments_.end() ? nullptr : &*worst;
}

// How late a cam is against the crank wheel, by each turn that it may be.
std::vector<double> Edges::LateAt(const Moment& moment, std::size_t w) const {
  const check::Fit best = moment.due[w].Best(moment.seen[w].edges, false);
  std::vector<double> late;
  if (best.found == 0 || moment.crank.found == 0) return late;
  for (double turn_deg = 0; turn_deg < longest_deg_; turn_deg += 360) {
    const double deg =
        WrapSignedDeg(best.late_deg() - moment.crank.late_deg() - turn_deg, wheels_[w].period_deg);
    const bool known =
        std::ranges::any_of(late, [&](double other) { return std::abs(other - deg) < 1e-6; });
    if (!known) late.push_back(deg);
  }
  return late;
}

// If it explains more than a healthy bench does.
void Edges::Take(const Hypothesis& sized, double log_area, std::vector<Solved>& solved) const {
  if (MostCost(sized.faults) > healthy_cost_ - kNoticed) return;
  solved.push_back({sized, log_area});
  solved.back().hypothesis.quantity = Quantity::kNone;
}

void Edges::SolveOffset(const Hypothesis& suspect, std::size_t w,
                        std::vector<Solved>& solved) const {
  const double range = suspect.high - suspect.low;
  const auto try_at = [&](double deg) {
    if (std::abs(deg) > kMostTurnedDeg) return;
    const bool far = deg < suspect.low || deg > suspect.high;
    const double density = far ? kShareTurnedFar / (2 * kMostTurnedDeg - range) : 1 / range;
    Take(WithValue(suspect, deg), std::log(kWidthDeg * density), solved);
  };
  const Moment& worst = *Worst();
  for (std::size_t cam = 1; cam < wheels_.size(); ++cam) {
    if (w != 0 && w != cam) continue;
    for (const double late_deg : LateAt(worst, cam)) try_at(w == 0 ? -late_deg : late_deg);
  }
}

void Edges::SolveStuck(const Hypothesis& suspect, std::size_t w,
                       std::vector<Solved>& solved) const {
  const int stimulus = Nth(bench_.triggers, wheels_[w].trigger).advance_stimulus;
  const double log_area = std::log(std::min(1.0, kWidthDeg / (suspect.high - suspect.low)));
  for (const double late_deg : LateAt(*Worst(), w)) {
    const double at_deg = Nth(situations_[Worst()->situation].stimuli, stimulus) - late_deg;
    if (at_deg < suspect.low - kDeviationDeg || at_deg > suspect.high + kDeviationDeg) continue;
    Take(WithValue(suspect, at_deg), log_area, solved);
  }
}

// The teeth that fit best, each gone from this wheel.
std::vector<int> Edges::TeethThatFit(const profile::Fault& gone, std::size_t w) const {
  const int teeth = static_cast<int>(Nth(bench_.triggers, wheels_[w].trigger).wheel.teeth.size());
  std::vector<std::pair<double, int>> fits;  // cost, tooth
  profile::Fault f = gone;
  for (int tooth = 1; tooth <= teeth; ++tooth) {
    f.kind = fault::ToothMissing{tooth};
    fits.emplace_back(CostOf({&f, 1}, *Worst()), tooth);
  }
  const double least = std::ranges::min(fits).first;
  std::vector<int> best;
  for (const auto& [cost, tooth] : fits) {
    if (cost <= least + kNoticed) best.push_back(tooth);
  }
  return best;
}

// Any of its teeth, where the suspects have a few.
void Edges::SolveTooth(const Hypothesis& suspect, std::size_t w,
                       std::vector<Solved>& solved) const {
  const auto teeth =
      static_cast<double>(Nth(bench_.triggers, wheels_[w].trigger).wheel.teeth.size());
  for (const int tooth : TeethThatFit(suspect.faults[0], w)) {
    Hypothesis gone = suspect;
    gone.faults[0].kind = fault::ToothMissing{tooth};
    Take(gone, std::log(std::min(1.0, 3.0 / teeth)), solved);
  }
}

void Edges::NameTooth(Hypothesis& hypothesis) const {
  for (Hypothesis& part : hypothesis.parts) NameTooth(part);
  if (IsRight() || !hypothesis.parts.empty() || hypothesis.faults.empty()) return;
  const auto* gone = hypothesis.faults[0].As<fault::ToothMissing>();
  const int w = WheelOf(hypothesis.faults[0]);
  if (gone == nullptr || w < 0) return;
  const std::vector<int> teeth = TeethThatFit(hypothesis.faults[0], static_cast<std::size_t>(w));
  if (teeth.size() == 1 && teeth[0] == gone->tooth) hypothesis.value = gone->tooth;
}

// By how many degrees, and where: a coarse grid, then steps that are halved. A small one is
// likelier.
void Edges::SolveRunout(const Hypothesis& suspect, std::vector<Solved>& solved) const {
  const Moment& worst = *Worst();
  profile::Fault f = suspect.faults[0];
  double best_deg = 0, best_at = 0, best = worst.healthy;
  const auto try_at = [&](double deg, double at) {
    if (deg < kDeviationDeg || deg > kMostRunoutDeg) return;
    f.kind = fault::WheelRunout{deg, WrapDeg(at, 360)};
    const double cost = CostOf({&f, 1}, worst);
    if (cost < best - 1e-9) best = cost, best_deg = deg, best_at = at;
  };
  for (const double deg : {0.75, 1.5, 2.25, 3., 4.5, 6., 8.}) {
    for (double at = 0; at < 360; at += 30) try_at(deg, at);
  }
  if (best >= worst.healthy) return;
  double step_deg = std::max(0.375, best_deg / 8), step_at = 15;
  for (int halving = 0; halving < kHalvings; ++halving, step_deg /= 2, step_at /= 2) {
    const double deg = best_deg, at = best_at;
    for (const double x : {-1., 0., 1.}) {
      for (const double y : {-1., 0., 1.}) try_at(deg + x * step_deg, at + y * step_at);
    }
  }
  Hypothesis off = suspect;
  off.faults[0].kind = fault::WheelRunout{best_deg, WrapDeg(best_at, 360)};
  const double at_width = kWidthDeg / (best_deg * std::numbers::pi / 180);
  const double density = std::exp(-best_deg / kMeanRunoutDeg) / kMeanRunoutDeg;
  Take(off, std::log(kWidthDeg * density * std::min(1.0, at_width / 360)), solved);
}

std::vector<Edges::Solved> Edges::Solve(const Hypothesis& suspect) const {
  std::vector<Solved> solved;
  if (IsRight() || suspect.faults.size() != 1) return solved;
  const profile::Fault& f = suspect.faults[0];
  const int w = WheelOf(f);
  if (w < 0) return solved;
  const auto wheel = static_cast<std::size_t>(w);
  const auto* gone = f.As<fault::ToothMissing>();
  const bool turned = f.Is<fault::WheelOffset>();
  if (gone != nullptr && gone->tooth == 1) SolveTooth(suspect, wheel, solved);
  if (turned && suspect.quantity == Quantity::kDeg) SolveOffset(suspect, wheel, solved);
  if (f.Is<fault::WheelRunout>()) SolveRunout(suspect, solved);
  if (f.Is<fault::CamStuck>()) SolveStuck(suspect, wheel, solved);
  const bool sizeless = suspect.quantity == Quantity::kNone;
  const bool as_it_is = turned || f.Is<fault::PickupInverted>() || f.Is<fault::ElectricalNoise>() ||
                        f.Is<fault::CamSlow>();
  if (sizeless && as_it_is) Take(suspect, 0, solved);
  return solved;
}

}  // namespace drycrank::diagnose
