// SPDX-License-Identifier: Apache-2.0
//
// What looks the same by all that was read, and how much of all weight it has.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "diagnose/race.h"
#include "diagnose/size_scale.h"

namespace drycrank::diagnose {
namespace {

// What nobody has thought of may look like something on the list, however sure that is. Of 600
// worlds (tests/bench/diagnosis_bench, seeds 10001 to 10600) 26 of the 457 surest answers were
// wrong, 5.7 %; taken somewhat less, or no repair would be named (Narrowed::kNamed) before a meter
// was asked.
constexpr double kLeastUnknown = 0.04;
// And what is like nothing on the list is on it all the same in 8 of 27 such cases, two at once
// mostly.
constexpr double kMostUnknown = 0.7;
constexpr double kLeastShare = 1e-4;
constexpr double kLessStrain = 0.5;  // nats: one deviation of the supply less

// Is the one among these two, of which the other shows nothing?
bool IsWithMore(const Hypothesis& one, const Hypothesis& two) {
  return one.parts.empty() && std::ranges::any_of(two.parts, [&](const Hypothesis& part) {
           return part.kind == one.kind && part.faults[0].at == one.faults[0].at &&
                  part.faults[0].with == one.faults[0].with;
         });
}

}  // namespace

bool Race::Alike(const Runner& a, const Runner& b, double most_chi2) const {
  return shown_.Alike(a.shown, b.shown) && fired_.Alike(a.fired, b.fired) &&
         edges_.Alike(a.edges, b.edges) &&
         strange_.Alike(a.wiring.hypothesis.faults, b.wiring.hypothesis.faults) &&
         display_heard_.Alike(a.wiring.missing, b.wiring.missing) &&
         weigher_.Alike(a.wiring.rows, b.wiring.rows, ColumnsOf(a), most_chi2, &a.wiring.missing,
                        &b.wiring.missing);
}

bool Race::IsLikeHealthy(const Runner& runner) const {
  return Alike(healthy_, runner, kLikeHealthyChi2);
}

namespace {

// exp(log_area) is the width of the likelihood over the range: sqrt(2 pi) deviations, were it normal.
double SizeSpreadOf(const Fit& fit) {
  const Hypothesis& h = fit.hypothesis;
  if (h.quantity != Quantity::kOhm) return 0;
  return std::exp(fit.log_area) * (High(h) - Low(h)) / std::sqrt(2 * std::numbers::pi);
}

}  // namespace

Candidate Race::CandidateOf(const Runner& runner, double share) {
  Candidate candidate{runner.wiring.hypothesis, {}, runner.log_weight, share, 0};
  candidate.predicted = predictor_.Predict(runner.wiring.hypothesis.faults);
  candidate.size_spread = SizeSpreadOf(runner.wiring);
  if (candidate.hypothesis.quantity == Quantity::kOhm) {
    candidate.size_low = FromScale(candidate.hypothesis, runner.wiring.x_low);
    candidate.size_high = FromScale(candidate.hypothesis, runner.wiring.x_high);
  }
  // The supply and the sensors as they fit best.
  const Sensitivities& columns = ColumnsOf(runner);
  const Eigen::VectorXd moved = columns.Times(runner.wiring.shared);
  for (const Fact& fact : facts_.all()) {
    if (fact.block < 0) continue;
    Prediction& predicted = candidate.predicted[fact.situation][fact.reading];
    const double by = moved[fact.block];
    if (predicted.is_value()) predicted = Prediction::Value(predicted.low() + by);
    if (predicted.kind() == Prediction::Kind::kBand) {
      predicted = Prediction::Band(predicted.low() + by, predicted.high() + by);
    }
  }
  shown_.Fill(runner.shown, candidate.predicted);
  LeaveOut(runner, candidate.predicted);
  candidate.surprises = SurprisesOf(runner) - shown_.Passing(runner.shown, candidate.predicted);
  edges_.NameTooth(candidate.hypothesis);
  if (edges_.WereSeen()) candidate.edges_right = edges_.Explains(runner.edges);
  if (fired_.WereSeen()) candidate.sparks_right = fired_.Explains(runner.fired);
  return candidate;
}

int Race::SurprisesOf(const Runner& runner) const {
  return weigher_.Surprises(runner.wiring.rows, ColumnsOf(runner), runner.wiring.shared,
                            &runner.wiring.missing) +
         runner.shown.glitches + runner.fired.surprises + runner.edges.surprises +
         strange_.Unexplained(runner.wiring.hypothesis.faults) +
         display_heard_.Unexplained(runner.wiring.missing);
}

// Does it need less of what supply and sensors may be off by than a healthy bench would?
bool Race::StrainsLess(const Runner& runner) const {
  return runner.wiring.log_like + runner.shown.log_like >
         healthy_.wiring.log_like + healthy_.shown.log_like + kLessStrain;
}

void Race::Group(Diagnosis& diagnosis) {
  // Shares of what is known, and of what is not.
  double top = healthy_.log_weight;
  for (const Runner& runner : runners_) top = std::max(top, runner.log_weight);
  double known = std::exp(healthy_.log_weight - top);
  for (const Runner& runner : runners_) known += std::exp(runner.log_weight - top);
  const double unknown = 1 / (1 + known * std::exp(top - unknown_));
  diagnosis.unknown_share = std::clamp(unknown, kLeastUnknown, kMostUnknown);
  const auto share_of = [&](double log_weight) {
    return (1 - diagnosis.unknown_share) * std::exp(log_weight - top) / known;
  };
  diagnosis.healthy_share = share_of(healthy_.log_weight);
  // Best first: each joins health, or the first group whose best member it cannot be told from.
  std::vector<const Runner*> leads;
  for (const Runner& runner : runners_) {
    const double share = share_of(runner.log_weight);
    if (share < 1e-12 && leads.size() >= 3) break;
    if (IsLikeHealthy(runner)) {
      diagnosis.healthy_share += share;
      if (StrainsLess(runner) && diagnosis.like_healthy.size() < kMostGroups) {
        diagnosis.like_healthy.push_back(CandidateOf(runner, share));
      }
      continue;
    }
    const auto home = std::find_if(leads.begin(), leads.end(), [&](const Runner* lead) {
      return Alike(*lead, runner, kAlikeChi2);
    });
    if (home == leads.end() && (share < kLeastShare && leads.size() >= 3)) continue;
    if (home == leads.end() && leads.size() == kMostGroups) continue;
    const auto which = static_cast<std::size_t>(home - leads.begin());
    if (home == leads.end()) {
      leads.push_back(&runner);
      diagnosis.groups.emplace_back();
    }
    diagnosis.groups[which].share += share;
    if (IsWithMore(leads[which]->wiring.hypothesis, runner.wiring.hypothesis)) continue;
    diagnosis.groups[which].members.push_back(CandidateOf(runner, share));
  }
  std::stable_sort(diagnosis.groups.begin(), diagnosis.groups.end(),
                   [](const auto& a, const auto& b) { return a.share > b.share; });
}

}  // namespace drycrank::diagnose
