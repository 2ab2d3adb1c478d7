// SPDX-License-Identifier: Apache-2.0
#include "study/counterfactual.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "diagnose/electrical.h"
#include "standin/channel.h"
#include "study/dead_inputs.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

using diagnose::Change;

bool SameAtTriggers(const profile::Bench& bench, const diagnose::Electrical& a,
                    const diagnose::Electrical& b) {
  return std::ranges::all_of(bench.controller->triggers, [&](const auto& channel) {
    const int input = standin::InputIndex(*bench.controller, channel.terminal);
    return input < 0 || diagnose::SameAt(static_cast<std::size_t>(input), a, b);
  });
}

}  // namespace

Counterfactual::Counterfactual(const profile::Bench& bench, const std::vector<Moment>& moments)
    : bench_(bench),
      moments_(moments),
      readings_(diagnose::ReadingsOf(bench)),
      places_(moments.size()),
      healthy_turning_(moments.size()) {}

void Counterfactual::Prepare(const std::vector<std::size_t>& moments) {
  std::vector<diagnose::Situation> situations;
  std::vector<std::size_t> added;
  for (const std::size_t m : moments) {
    if (places_[m].predictor != nullptr || std::ranges::count(added, m) > 0) continue;
    situations.push_back(moments_[m].situation);
    if (!situations.back().stimuli.empty()) situations.back().stimuli[0] = 0;
    added.push_back(m);
  }
  if (added.empty()) return;
  predictors_.push_back(std::make_unique<diagnose::Predictor>(bench_, std::move(situations)));
  for (std::size_t i = 0; i < added.size(); ++i) places_[added[i]] = {predictors_.back().get(), i};
}

// The electrical side of a turning moment is that of any: outputs off, and each one on.
diagnose::Predictor& Counterfactual::First() {
  if (predictors_.empty()) {
    diagnose::Situation rest = moments_.empty() ? diagnose::RestOf(bench_) : moments_[0].situation;
    if (!rest.stimuli.empty()) rest.stimuli[0] = 0;
    std::vector<diagnose::Situation> one = {std::move(rest)};
    predictors_.push_back(std::make_unique<diagnose::Predictor>(bench_, std::move(one)));
  }
  return *predictors_.front();
}

const diagnose::Prediction& Counterfactual::Healthy(std::size_t moment, int reading) const {
  const Place& place = places_[moment];
  return Nth(place.predictor->healthy()[place.index], reading);
}

const diagnose::Predictions& Counterfactual::HealthyTurning(std::size_t moment) {
  auto& known = healthy_turning_[moment];
  if (!known) known = First().PredictAt(moments_[moment].situation, {});
  return *known;
}

const diagnose::Electrical& Counterfactual::Trial::Broken() {
  if (!model_) {
    model_ = std::make_unique<diagnose::ElectricalModel>(all_.bench_, all_.First().electrical(),
                                                         std::span(&fault_, 1));
  }
  return model_->SolveIn(std::size_t{0});
}

std::vector<Change> Counterfactual::Trial::Changes(std::size_t moment) {
  const Place& place = all_.places_[moment];
  auto trial = std::ranges::find(trials_, place.predictor, [](const auto& t) { return t.first; });
  if (trial == trials_.end()) {
    trials_.emplace_back(place.predictor, std::make_unique<diagnose::Trial>(*place.predictor,
                                                                            std::span(&fault_, 1)));
    trial = trials_.end() - 1;
  }
  const std::span<const Change> changes = trial->second->Changes(place.index);
  std::vector<Change> all{changes.begin(), changes.end()};
  if (all_.moments_[moment].turning()) AddTurning(all_.moments_[moment], all);
  return all;
}

// Without its supply a controller says nothing of the engine either.
void Counterfactual::Trial::AddTurning(const Moment& moment, std::vector<Change>& changes) {
  const profile::Bench& bench = all_.bench_;
  const diagnose::Electrical& broken = Broken();
  if (broken.supply_v < bench.controller->min_supply_v) {
    for (std::size_t r = 0; r < all_.readings_.size(); ++r) {
      const profile::SignalRef& at = all_.readings_[r].signal;
      const bool controller =
          profile::MessageAt(bench, {at.bus, at.message}).sender == profile::Sender::kController;
      const bool known = std::ranges::count(changes, static_cast<int>(r), &Change::reading) > 0;
      if (controller && !known) changes.push_back({static_cast<int>(r), {}});
    }
    return;
  }
  const double rpm = moment.situation.engine_rpm();
  const auto was = DeadTriggers(bench, all_.First().electrical().at(0), rpm);
  const auto dead = DeadTriggers(bench, broken, rpm);
  if (dead == was) return;
  for (const Change& change : ByDeadTriggers(bench, all_.readings_, dead)) {
    std::erase_if(changes, [&](const Change& c) { return c.reading == change.reading; });
    changes.push_back(change);
  }
}

std::vector<Change> Counterfactual::Trial::Played(std::size_t moment) {
  if (SameAtTriggers(all_.bench_, Broken(), all_.First().electrical().at(0))) return {};
  const diagnose::Predictions& healthy = all_.HealthyTurning(moment);
  const diagnose::Predictions now =
      all_.First().PredictAt(all_.moments_[moment].situation, std::span(&fault_, 1));
  std::vector<Change> changes;
  for (std::size_t r = 0; r < now.size(); ++r) {
    if (!(now[r] == healthy[r])) changes.push_back({static_cast<int>(r), now[r]});
  }
  return changes;
}

}  // namespace drycrank::study
