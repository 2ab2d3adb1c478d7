// SPDX-License-Identifier: Apache-2.0
#include "diagnose/electrical.h"

#include <cmath>
#include <variant>

#include "sensor/sensor.h"

namespace drycrank::diagnose {
namespace {

constexpr double kMovesV = 1e-3, kMovesGain = 1e-4;

bool IsPulse(const profile::Sensor& sensor) {
  return std::holds_alternative<profile::FrequencySensor>(sensor.model);
}

double Quantity(const profile::Sensor& sensor, const Situation& situation,
                std::span<const profile::Fault> faults) {
  double value = situation.stimuli[static_cast<std::size_t>(sensor.stimulus)];
  for (const profile::Fault& fault : faults) {
    const auto* offset = fault.As<profile::fault::SensorOffset>();
    if (offset && fault.at == sensor.name) {
      value += offset->value;
    }
  }
  return value;
}

harness::Harness HarnessWith(const profile::Bench& bench, std::span<const profile::Fault> faults) {
  std::vector<const profile::Fault*> pointers;
  for (const profile::Fault& fault : faults) pointers.push_back(&fault);
  return harness::Harness(bench, pointers);
}

}  // namespace

harness::DeviceValues DevicesIn(const profile::Bench& bench, const Situation& situation,
                                std::span<const profile::Fault> faults) {
  harness::DeviceValues values(bench.triggers.size() + bench.sensors.size(), 0);
  for (std::size_t i = 0; i < bench.sensors.size(); ++i) {
    const profile::Sensor& sensor = bench.sensors[i];
    if (IsPulse(sensor)) continue;
    values[bench.triggers.size() + i] =
        sensor::ToElectrical(sensor, bench.stimuli[static_cast<std::size_t>(sensor.stimulus)],
                             Quantity(sensor, situation, faults), bench.barometric_pressure_kpa)
            .value;
  }
  return values;
}

harness::Harness HarnessIn(const profile::Bench& bench, const Situation& situation,
                           std::span<const profile::Fault> faults) {
  harness::Harness harness = HarnessWith(bench, faults);
  std::vector<double> unused(static_cast<std::size_t>(harness.input_count()));
  harness.Solve(DevicesIn(bench, situation, faults), unused);
  return harness;
}

bool SameAt(std::size_t input, const Electrical& a, const Electrical& b) {
  if (std::abs(a.input_v[input] - b.input_v[input]) > kSameV) return false;
  for (std::size_t s = 0; s < a.sources.size(); ++s) {
    const Source &one = a.sources[s], &other = b.sources[s];
    const double difference =
        one.coil ? one.gain[input] - other.gain[input] : one.on_v[input] - other.on_v[input];
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
    rows_.push_back(model.Solve(situation));
  }
}

ElectricalModel::ElectricalModel(const profile::Bench& bench, const harness::Variants& variants)
    : bench_(bench) {
  Prepare(variants);
}

ElectricalModel::ElectricalModel(const profile::Bench& bench, const HealthyElectrical& healthy,
                                 std::span<const profile::Fault> faults)
    : bench_(bench), healthy_(&healthy), faults_(faults.begin(), faults.end()) {
  Prepare(healthy.variants());
}

void ElectricalModel::Prepare(const harness::Variants& variants) {
  for (const profile::Fault& fault : faults_) {
    moves_sensor_ = moves_sensor_ || fault.Is<profile::fault::SensorOffset>();
  }
  const auto edit = harness::EditOf(bench_, variants.topology(), faults_);
  edits_ = moves_sensor_ || !edit || !edit->ports.empty() || !edit->not_fitted.empty();
  if (edit) {
    variant_.emplace(variants, *edit);
  } else {
    harness_.emplace(HarnessWith(bench_, faults_));
  }
  const auto inputs = static_cast<std::size_t>(variants.input_count());
  answer_.input_v.resize(inputs);
  answer_.reference_v.resize(bench_.controller->references.size());
  for (std::size_t i = 0; i < bench_.triggers.size(); ++i) {
    const bool coil =
        std::holds_alternative<profile::VariableReluctancePickup>(bench_.triggers[i].pickup);
    answer_.sources.push_back({static_cast<int>(i), coil, {}, {}});
  }
  for (std::size_t i = 0; i < bench_.sensors.size(); ++i) {
    if (!IsPulse(bench_.sensors[i])) continue;
    answer_.sources.push_back({static_cast<int>(bench_.triggers.size() + i), false, {}, {}});
  }
  for (Source& source : answer_.sources) {
    source.on_v.resize(inputs);
    source.gain.resize(inputs, 0);
  }
}

Pulses ElectricalModel::PulsesOf(int sensor, const Situation& situation) const {
  const profile::Sensor& s = bench_.sensors[static_cast<std::size_t>(sensor)];
  const auto& model = std::get<profile::FrequencySensor>(s.model);
  const double width = model.width_stimulus < 0
                           ? 0
                           : situation.stimuli[static_cast<std::size_t>(model.width_stimulus)];
  const sensor::Electrical e =
      sensor::ToElectrical(s, bench_.stimuli[static_cast<std::size_t>(s.stimulus)],
                           Quantity(s, situation, faults_), bench_.barometric_pressure_kpa, width);
  return {e.hz, e.low_s};
}

void ElectricalModel::SolveVolts(std::span<double> input_v) {
  if (variant_ && variant_->Solve(values_)) {
    for (std::size_t n = 0; n < input_v.size(); ++n) {
      input_v[n] = variant_->InputVoltage(static_cast<int>(n));
    }
    return;
  }
  if (!harness_) harness_.emplace(HarnessWith(bench_, faults_));
  variant_.reset();
  harness_->Solve(values_, input_v);
}

void ElectricalModel::SolveOn(Source& source) {
  double& value = values_[static_cast<std::size_t>(source.device)];
  value = 1;
  SolveVolts(source.on_v);
  value = 0;
}

void ElectricalModel::SolveGain(Source& source) {
  if (!variant_) return harness_->Transfer(source.device, source.gain);
  for (std::size_t n = 0; n < source.gain.size(); ++n) {
    source.gain[n] = variant_->Gain(static_cast<int>(n), source.device);
  }
}

void ElectricalModel::SolveRest() {
  SolveVolts(answer_.input_v);
  answer_.supply_v = variant_ ? variant_->ControllerSupply() : harness_->ControllerSupply();
  for (std::size_t i = 0; i < answer_.reference_v.size(); ++i) {
    const int index = static_cast<int>(i);
    answer_.reference_v[i] = variant_ ? variant_->Reference(index) : harness_->Reference(index);
  }
}

void ElectricalModel::SolveAll() {
  for (Source& source : answer_.sources) {
    if (!source.coil) SolveOn(source);
  }
  SolveRest();
  for (Source& source : answer_.sources) {
    if (source.coil) SolveGain(source);
  }
}

const Electrical& ElectricalModel::Solve(const Situation& situation) {
  values_ = DevicesIn(bench_, situation, faults_);
  SolveAll();
  return answer_;
}

// The first situation asked for decides which sources the fault concerns.
void ElectricalModel::FindMoved(const Electrical& healthy) {
  for (std::size_t s = 0; s < answer_.sources.size(); ++s) {
    const Source &now = answer_.sources[s], &then = healthy.sources[s];
    bool moved = false;
    for (std::size_t n = 0; n < answer_.input_v.size(); ++n) {
      const double step = now.on_v[n] - answer_.input_v[n];
      const double healthy_step = then.on_v[n] - healthy.input_v[n];
      moved = moved || (now.coil ? std::abs(now.gain[n] - then.gain[n]) > kMovesGain
                                 : std::abs(step - healthy_step) > kMovesV);
    }
    moved_.push_back(moved);
  }
}

const Electrical& ElectricalModel::Solve(std::size_t situation) {
  const Electrical& healthy = healthy_->at(situation);
  if (!edits_) return healthy;
  values_ = moves_sensor_ ? DevicesIn(bench_, healthy_->situation(situation), faults_)
                          : healthy_->devices(situation);
  if (moved_.size() != answer_.sources.size()) {
    SolveAll();
    FindMoved(healthy);
    return answer_;
  }
  for (std::size_t s = 0; s < moved_.size(); ++s) {
    if (moved_[s] && !answer_.sources[s].coil) SolveOn(answer_.sources[s]);
  }
  SolveRest();
  for (std::size_t s = 0; s < moved_.size(); ++s) {
    Source& source = answer_.sources[s];
    if (source.coil) {
      if (moved_[s])
        SolveGain(source);
      else
        source.gain = healthy.sources[s].gain;
    } else if (!moved_[s]) {
      for (std::size_t n = 0; n < source.on_v.size(); ++n) {
        source.on_v[n] = answer_.input_v[n] + healthy.sources[s].on_v[n] - healthy.input_v[n];
      }
    }
  }
  return answer_;
}

}  // namespace drycrank::diagnose
