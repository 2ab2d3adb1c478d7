// SPDX-License-Identifier: Apache-2.0
#include "study/counterfactual.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "diagnose/electrical.h"
#include "standin/controller.h"
#include "standin/conversion.h"
#include "study/dead_inputs.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

using diagnose::Change;

// Less moves no reading, nor a threshold by what its device leaves unsaid.
constexpr double kNoticedV = 1e-4, kNoticedSupplyV = 0.01, kNoticedGain = 1e-4;
constexpr double kFeltV = 0.02, kFeltGain = 0.01;  // by a comparator

// What is seen at the pins and on no bus: edges at each trigger input, and, where no message tells it,
// whether the engine's position can be known.
diagnose::Reading Pseudo(std::string carries) {
  diagnose::Reading reading;
  reading.signal = {-1, -1, -1};
  reading.name = carries;
  reading.carries = std::move(carries);
  reading.discrete = reading.turning = true;
  return reading;
}
std::vector<diagnose::Reading> WithThoseAtPins(const profile::Bench& bench) {
  std::vector<diagnose::Reading> readings = diagnose::ReadingsOf(bench);
  const bool told = std::ranges::count(readings, "sync_state", &diagnose::Reading::carries) > 0;
  if (!told) readings.push_back(Pseudo("sync_state"));
  for (const auto& trigger : bench.controller->triggers) {
    readings.push_back(Pseudo("edges." + trigger.name));
  }
  return readings;
}

bool IsMoved(std::size_t input, const diagnose::Electrical& a, const diagnose::Electrical& b,
             double volts, double gain) {
  if (std::abs(a.input_v[input] - b.input_v[input]) > volts) return true;
  for (std::size_t r = 0; r < a.reaches.size(); ++r) {
    const diagnose::Reach &one = a.reaches[r], &other = b.reaches[r];
    const double difference = std::abs(one.coil ? one.gain[input] - other.gain[input]
                                                : one.on_v[input] - other.on_v[input]);
    if (difference > (one.coil ? gain : volts)) return true;
  }
  return false;
}

// On which side of a comparator's thresholds.
int SideOf(const profile::TriggerChannel& channel, double volts) {
  return volts >= channel.high_v ? 2 : volts <= channel.low_v ? 0 : 1;
}

// Do all levels lie where they lay? Then the comparator makes the same edges of them.
bool SameSides(const profile::TriggerChannel& channel, std::size_t input,
               const diagnose::Electrical& a, const diagnose::Electrical& b) {
  if (SideOf(channel, a.input_v[input]) != SideOf(channel, b.input_v[input])) return false;
  for (std::size_t r = 0; r < a.reaches.size(); ++r) {
    const diagnose::Reach &one = a.reaches[r], &other = b.reaches[r];
    const bool same = one.coil
                          ? std::abs(one.gain[input] - other.gain[input]) <= kFeltGain
                          : SideOf(channel, one.on_v[input]) == SideOf(channel, other.on_v[input]);
    if (!same) return false;
  }
  return true;
}

// Per trigger channel: does its comparator see a difference?
std::vector<bool> MovedTriggers(const profile::Bench& bench, const diagnose::Electrical& a,
                                const diagnose::Electrical& b) {
  std::vector<bool> moved;
  for (const profile::TriggerChannel& channel : bench.controller->triggers) {
    const int input = standin::InputIndex(*bench.controller, channel.terminal);
    const auto at = AsSize(std::max(0, input));
    const bool threshold = channel.conditioning == profile::Conditioning::kThreshold;
    moved.push_back(input >= 0 && (threshold ? !SameSides(channel, at, a, b)
                                             : IsMoved(at, a, b, kFeltV, kFeltGain)));
  }
  return moved;
}

}  // namespace

Counterfactual::Counterfactual(const profile::Bench& bench, const std::vector<Moment>& moments)
    : bench_(bench),
      moments_(moments),
      readings_(WithThoseAtPins(bench)),
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

const diagnose::Prediction* Counterfactual::Healthy(std::size_t moment, int reading) const {
  if (IsAtPins(reading)) return &HealthyAtPins(moment, Nth(readings_, reading).carries);
  if (moments_[moment].turning()) {
    const auto& played = healthy_turning_[moment];
    return played ? &Nth(*played, reading) : nullptr;
  }
  const Place& place = places_[moment];
  return &Nth(place.predictor->healthy()[place.index], reading);
}

const diagnose::Prediction& Counterfactual::HealthyAtPins(std::size_t moment,
                                                          const std::string& carries) const {
  static const diagnose::Prediction kNone = diagnose::Prediction::None();
  static const diagnose::Prediction kThere =
      diagnose::Prediction::Value(static_cast<double>(standin::SyncState::kSynchronised));
  const Place& place = places_[moment];
  const auto dead = DeadTriggers(bench_, place.predictor->electrical().at(place.index),
                                 moments_[moment].situation.engine_rpm());
  bool none = !dead.empty() && Nth(dead, bench_.controller->decoder.primary);
  for (std::size_t t = 0; t < dead.size(); ++t) {
    none = none || (dead[t] && carries == "edges." + bench_.controller->triggers[t].name);
  }
  return none ? kNone : kThere;
}

const diagnose::Prediction& Counterfactual::HealthyPlayed(std::size_t moment, int reading) {
  if (moments_[moment].turning()) HealthyTurning(moment);
  return *Healthy(moment, reading);
}

bool Counterfactual::IsControllers(int reading) const {
  const profile::SignalRef& at = Nth(readings_, reading).signal;
  if (at.bus < 0) return false;
  return profile::MessageAt(bench_, {at.bus, at.message}).sender == profile::Sender::kController;
}

bool Counterfactual::IsAtPins(int reading) const { return Nth(readings_, reading).signal.bus < 0; }

bool Counterfactual::IsSilence(const std::vector<Change>& changes) const {
  std::size_t silent = 0, all = 0;
  for (const Change& change : changes) {
    silent += change.predicted.is_none() && IsControllers(change.reading);
  }
  for (std::size_t r = 0; r < readings_.size(); ++r) all += IsControllers(static_cast<int>(r));
  return all > 0 && silent == all;
}

const diagnose::Predictions& Counterfactual::HealthyTurning(std::size_t moment) {
  auto& known = healthy_turning_[moment];
  if (!known) known = First().PredictAt(moments_[moment].situation, {});
  return *known;
}

bool Counterfactual::Moves(const profile::Fault& fault) {
  const diagnose::HealthyElectrical& healthy = First().electrical();
  diagnose::ElectricalModel model(bench_, healthy, {&fault, 1});
  const diagnose::Electrical& broken = model.SolveIn(std::size_t{0});
  const diagnose::Electrical& whole = healthy.at(0);
  for (std::size_t n = 0; n < whole.input_v.size(); ++n) {
    if (IsMoved(n, broken, whole, kNoticedV, kNoticedGain)) return true;
  }
  return std::abs(broken.supply_v - whole.supply_v) > kNoticedSupplyV;
}

const diagnose::Electrical& Counterfactual::Trial::Broken() {
  if (!model_) {
    model_ = std::make_unique<diagnose::ElectricalModel>(all_.bench_, all_.First().electrical(),
                                                         faults_);
  }
  return model_->SolveIn(std::size_t{0});
}

std::vector<Change> Counterfactual::Trial::Changes(std::size_t moment) {
  const Place& place = all_.places_[moment];
  auto trial = std::ranges::find(trials_, place.predictor, [](const auto& t) { return t.first; });
  if (trial == trials_.end()) {
    trials_.emplace_back(place.predictor,
                         std::make_unique<diagnose::Trial>(*place.predictor, faults_));
    trial = trials_.end() - 1;
  }
  const std::span<const Change> changes = trial->second->Changes(place.index);
  std::vector<Change> all{changes.begin(), changes.end()};
  runs_ = trial->second->electrical().supply_v >= all_.bench_.controller->min_supply_v;
  if (all_.moments_[moment].turning()) {
    AddTurning(all_.moments_[moment], trial->second->electrical(),
               place.predictor->electrical().at(place.index), all);
  }
  return all;
}

// Without its supply a controller says nothing of the engine either.
void Counterfactual::Trial::AddTurning(const Moment& moment, const diagnose::Electrical& broken,
                                       const diagnose::Electrical& whole,
                                       std::vector<Change>& changes) const {
  const profile::Bench& bench = all_.bench_;
  const double least_v = bench.controller->min_supply_v;
  if (whole.supply_v < least_v) return;
  const double rpm = moment.situation.engine_rpm();
  const auto was = DeadTriggers(bench, whole, rpm);
  const auto dead = DeadTriggers(bench, broken, rpm);
  AddDeadEdges(was, dead, changes);
  if (broken.supply_v < least_v) {
    for (std::size_t r = 0; r < all_.readings_.size(); ++r) {
      const bool known = std::ranges::count(changes, static_cast<int>(r), &Change::reading) > 0;
      if (all_.IsControllers(static_cast<int>(r)) && !known)
        changes.push_back({static_cast<int>(r), {}});
    }
    return;
  }
  if (dead == was) return;
  for (const Change& change : ByDeadTriggers(bench, all_.readings_, dead)) {
    std::erase_if(changes, [&](const Change& c) { return c.reading == change.reading; });
    changes.push_back(change);
  }
}

void Counterfactual::Trial::AddDeadEdges(const std::vector<bool>& was,
                                         const std::vector<bool>& dead,
                                         std::vector<Change>& changes) const {
  const int primary = all_.bench_.controller->decoder.primary;
  const bool crank = !dead.empty() && Nth(dead, primary) && !Nth(was, primary);
  for (std::size_t t = 0; t < dead.size(); ++t) {
    if (!crank && (!dead[t] || was[t])) continue;  // without a crank no cam has a place
    const std::string edges = "edges." + all_.bench_.controller->triggers[t].name;
    const auto at = std::ranges::find(all_.readings_, edges, &diagnose::Reading::carries);
    changes.push_back({static_cast<int>(at - all_.readings_.begin()), {}});
  }
}

bool Counterfactual::Trial::MayMove(int reading) {
  if (moved_.empty()) {
    moved_ = MovedTriggers(all_.bench_, Broken(), all_.First().electrical().at(0));
  }
  const std::string& carries = Nth(all_.readings_, reading).carries;
  const int primary = all_.bench_.controller->decoder.primary;
  if (carries == "engine_speed") return !moved_.empty() && Nth(moved_, primary);
  const bool turns = carries.starts_with("sync_") || carries.starts_with("cam_angle.");
  return turns && std::ranges::count(moved_, true) > 0;
}

std::vector<Change> Counterfactual::Trial::Played(std::size_t moment) {
  const auto may_move = [&](std::size_t r) { return MayMove(static_cast<int>(r)); };
  bool any = false;
  for (std::size_t r = 0; r < all_.readings_.size(); ++r) any = any || may_move(r);
  if (!any) return {};
  const diagnose::Predictions& healthy = all_.HealthyTurning(moment);
  const diagnose::Predictions now =
      all_.First().PredictAt(all_.moments_[moment].situation, faults_);
  std::vector<Change> changes;
  for (std::size_t r = 0; r < now.size(); ++r) {
    if (!(now[r] == healthy[r])) changes.push_back({static_cast<int>(r), now[r]});
  }
  const double rpm = all_.moments_[moment].situation.engine_rpm();
  AddDeadEdges(DeadTriggers(all_.bench_, all_.First().electrical().at(0), rpm),
               DeadTriggers(all_.bench_, Broken(), rpm), changes);
  return changes;
}

}  // namespace drycrank::study
