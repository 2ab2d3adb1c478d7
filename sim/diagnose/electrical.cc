// SPDX-License-Identifier: Apache-2.0
#include "diagnose/electrical.h"

#include <cmath>
#include <variant>

#include "harness/next_state.h"
#include "plant/sources.h"
#include "profile/device_leads.h"
#include "profile/sensors.h"
#include "profile/triggers.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

constexpr double kMovesV = 1e-3, kMovesGain = 1e-4;

std::vector<const profile::Fault*> PointersTo(std::span<const profile::Fault> faults) {
  std::vector<const profile::Fault*> pointers;
  for (const profile::Fault& fault : faults) pointers.push_back(&fault);
  return pointers;
}

plant::StimulusValue ValuesIn(const Situation& situation) {
  return [&situation](int stimulus) { return Nth(situation.stimuli, stimulus); };
}

}  // namespace

harness::DeviceValues DevicesIn(const profile::Bench& bench, const Situation& situation,
                                plant::Faults faults) {
  harness::DeviceValues values(bench.triggers.size() + bench.sensors.size(), 0);
  plant::DevicesAtRest(bench, ValuesIn(situation), faults, values);
  return values;
}

harness::Harness HarnessIn(const profile::Bench& bench, const Situation& situation,
                           std::span<const profile::Fault> faults) {
  const auto pointers = PointersTo(faults);
  harness::Harness harness(bench, pointers);
  std::vector<double> unused(harness.input_count());
  harness.Solve(DevicesIn(bench, situation, pointers), unused);
  return harness;
}

bool SameAt(int input, const Electrical& a, const Electrical& b) {
  if (std::abs(Nth(a.input_v, input) - Nth(b.input_v, input)) > kSameV) return false;
  for (std::size_t s = 0; s < a.reaches.size(); ++s) {
    const Reach &one = a.reaches[s], &other = b.reaches[s];
    const double difference = one.coil ? Nth(one.gain, input) - Nth(other.gain, input)
                                       : Nth(one.on_v, input) - Nth(other.on_v, input);
    if (std::abs(difference) > kSameV) return false;
  }
  return true;
}

HealthyElectrical::HealthyElectrical(const profile::Bench& bench,
                                     std::span<const Situation> situations)
    : situations_(situations.begin(), situations.end()),
      variants_(bench, DevicesIn(bench, situations.empty() ? RestOf(bench) : situations[0], {})) {
  ElectricalModel model(bench, variants_);
  for (const Situation& situation : situations) {
    devices_.push_back(DevicesIn(bench, situation, {}));
    rows_.push_back(model.SolveIn(situation));
    held_.emplace_back();
    if (model.HasForm()) held_.back() = model.variant_.Hold();
  }
}

ElectricalModel::ElectricalModel(const profile::Bench& bench, const harness::Variants& variants)
    : bench_(bench), variants_(variants), variant_(variants) {
  Shape();
  PutIn({});
}

ElectricalModel::ElectricalModel(const profile::Bench& bench, const HealthyElectrical& healthy)
    : bench_(bench),
      healthy_(&healthy),
      variants_(healthy.variants()),
      variant_(healthy.variants()) {
  Shape();
}

ElectricalModel::ElectricalModel(const profile::Bench& bench, const HealthyElectrical& healthy,
                                 std::span<const profile::Fault> faults)
    : ElectricalModel(bench, healthy) {
  PutIn(faults);
}

void ElectricalModel::Shape() {
  const auto inputs = static_cast<std::size_t>(variants_.input_count());
  answer_.input_v.resize(inputs);
  answer_.reference_v.resize(bench_.controller->references.size());
  for (std::size_t i = 0; i < bench_.triggers.size(); ++i) {
    const bool coil = profile::GivenBy(bench_.triggers[i].pickup) == profile::Gives::kCoil;
    answer_.reaches.push_back({static_cast<int>(i), coil, {}, {}});
  }
  for (std::size_t i = 0; i < bench_.sensors.size(); ++i) {
    if (profile::GivenBy(bench_.sensors[i].model) != profile::Gives::kPulses) continue;
    answer_.reaches.push_back({static_cast<int>(bench_.triggers.size() + i), false, {}, {}});
  }
  for (Reach& reach : answer_.reaches) {
    reach.on_v.resize(inputs);
    reach.gain.resize(inputs, 0);
  }
}

void ElectricalModel::FindMovedSensors() {
  moved_sensors_.clear();
  for (const profile::Fault& fault : faults_) {
    const bool moves =
        fault.Is<profile::fault::SensorOffset>() || fault.Is<profile::fault::SensorStuck>();
    const int sensor = moves ? profile::IndexOf(bench_.sensors, fault.at) : -1;
    if (sensor >= 0) moved_sensors_.push_back(sensor);
  }
}

void ElectricalModel::PutIn(std::span<const profile::Fault> faults) {
  faults_.assign(faults.begin(), faults.end());
  pointers_ = PointersTo(faults_);
  FindMovedSensors();
  moved_.clear();
  moves_reach_ = false;
  harness_.reset();
  const auto edit = harness::EditOf(bench_, variants_.topology(), faults_);
  edits_ = !moved_sensors_.empty() || !edit || !edit->ports.empty() || !edit->not_fitted.empty();
  if (edit) {
    variant_.Put(*edit);
  } else {
    harness_.emplace(bench_, pointers_);
  }
}

Source ElectricalModel::SourceIn(int sensor, const Situation& situation) const {
  return plant::SourceOf(bench_, Nth(bench_.sensors, sensor), ValuesIn(situation), pointers_);
}

void ElectricalModel::Solve(std::span<const double> values, std::span<double> input_v) {
  if (HasForm() && variant_.Solve(values)) {
    for (std::size_t n = 0; n < input_v.size(); ++n) {
      input_v[n] = variant_.InputVoltage(static_cast<int>(n));
    }
    return;
  }
  if (!harness_) harness_.emplace(bench_, pointers_);
  harness_->Solve(values, input_v);
}

void ElectricalModel::Transfer(int device, std::span<double> gain) {
  HasForm() ? variant_.Transfer(device, gain) : harness_->Transfer(device, gain);
}

double ElectricalModel::ControllerSupply() const {
  return HasForm() ? variant_.ControllerSupply() : harness_->ControllerSupply();
}

double ElectricalModel::ShortAmperes() const {
  if (!HasForm() || faults_.empty()) return 0;
  const profile::Fault& first = faults_.front();
  const bool joins =
      first.Is<profile::fault::ShortToGround>() || first.Is<profile::fault::ShortToSupply>() ||
      first.Is<profile::fault::ShortTogether>() || first.Is<profile::fault::Leakage>();
  return joins ? std::abs(variant_.FirstPortAmperes()) : 0;
}

double ElectricalModel::Reference(int index) const {
  return HasForm() ? variant_.Reference(index) : harness_->Reference(index);
}

void ElectricalModel::SolveOn(Reach& reach) {
  double& value = Nth(values_, reach.device);
  value = 1;
  Solve(values_, reach.on_v);
  value = 0;
}

void ElectricalModel::SolveRest() {
  Solve(values_, answer_.input_v);
  SetSupplies();
}

void ElectricalModel::SetSupplies() {
  answer_.supply_v = ControllerSupply();
  for (std::size_t i = 0; i < answer_.reference_v.size(); ++i) {
    answer_.reference_v[i] = Reference(static_cast<int>(i));
  }
}

void ElectricalModel::SolveAll() {
  for (Reach& reach : answer_.reaches) {
    if (!reach.coil) SolveOn(reach);
  }
  SolveRest();
  for (Reach& reach : answer_.reaches) {
    if (reach.coil) Transfer(reach.device, reach.gain);
  }
}

const Electrical& ElectricalModel::SolveIn(const Situation& situation) {
  values_ = DevicesIn(bench_, situation, pointers_);
  SolveAll();
  return answer_;
}

// The first situation asked for decides which reaches the fault concerns.
void ElectricalModel::FindMoved(const Electrical& healthy) {
  for (std::size_t s = 0; s < answer_.reaches.size(); ++s) {
    const Reach &now = answer_.reaches[s], &then = healthy.reaches[s];
    bool moved = false;
    for (std::size_t n = 0; n < answer_.input_v.size(); ++n) {
      const double step = now.on_v[n] - answer_.input_v[n];
      const double healthy_step = then.on_v[n] - healthy.input_v[n];
      moved = moved || (now.coil ? std::abs(now.gain[n] - then.gain[n]) > kMovesGain
                                 : std::abs(step - healthy_step) > kMovesV);
    }
    moved_.push_back(moved);
    moves_reach_ = moves_reach_ || moved;
  }
}

// Situations to come are compared with this one. Of few devices all answers are as soon made.
void ElectricalModel::MarkShifts(std::size_t situation) {
  const auto& held = healthy_->held(situation);
  const bool many = variants_.device_count() >= harness::kMany;
  if (!many || !HasForm() || !held || variant_.is_marked()) return;
  std::vector<int> devices;
  for (const int sensor : moved_sensors_) {
    devices.push_back(static_cast<int>(bench_.triggers.size()) + sensor);
  }
  variant_.Mark(*held, devices);
}

// As the healthy bench, but for what the fault shifts.
bool ElectricalModel::SolveShifted(std::size_t situation) {
  const auto& held = healthy_->held(situation);
  const bool comparable = HasForm() && held && variant_.is_marked() && !moves_reach_;
  if (!comparable || !variant_.SolveShifted(*held, values_)) return false;
  answer_ = healthy_->at(situation);
  for (const int input : variant_.shifted_inputs()) {
    const double shift = variant_.InputVoltage(input) - Nth(answer_.input_v, input);
    Nth(answer_.input_v, input) += shift;
    for (Reach& reach : answer_.reaches) {
      if (!reach.coil) Nth(reach.on_v, input) += shift;
    }
  }
  SetSupplies();
  return true;
}

const Electrical& ElectricalModel::SolveIn(std::size_t situation) {
  const Electrical& healthy = healthy_->at(situation);
  if (!edits_) return healthy;
  values_ = healthy_->devices(situation);
  for (const int sensor : moved_sensors_) {
    Nth(values_, static_cast<int>(bench_.triggers.size()) + sensor) =
        SourceIn(sensor, healthy_->situation(situation)).value;
  }
  if (moved_.size() != answer_.reaches.size()) {
    SolveAll();
    FindMoved(healthy);
    MarkShifts(situation);
    return answer_;
  }
  if (SolveShifted(situation)) return answer_;
  for (std::size_t s = 0; s < moved_.size(); ++s) {
    if (moved_[s] && !answer_.reaches[s].coil) SolveOn(answer_.reaches[s]);
  }
  SolveRest();
  MarkShifts(situation);
  for (std::size_t s = 0; s < moved_.size(); ++s) {
    Reach& reach = answer_.reaches[s];
    if (reach.coil) {
      if (moved_[s])
        Transfer(reach.device, reach.gain);
      else
        reach.gain = healthy.reaches[s].gain;
    } else if (!moved_[s]) {
      for (std::size_t n = 0; n < reach.on_v.size(); ++n) {
        reach.on_v[n] = answer_.input_v[n] + healthy.reaches[s].on_v[n] - healthy.input_v[n];
      }
    }
  }
  return answer_;
}

}  // namespace drycrank::diagnose
