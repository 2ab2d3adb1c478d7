// SPDX-License-Identifier: Apache-2.0
#include "diagnose/electrical.h"

#include <variant>

#include "sensor/sensor.h"

namespace drycrank::diagnose {
namespace {

std::vector<const profile::Fault*> PointersTo(const std::vector<profile::Fault>& faults) {
  std::vector<const profile::Fault*> pointers;
  for (const profile::Fault& fault : faults) pointers.push_back(&fault);
  return pointers;
}

bool IsPulse(const profile::Sensor& sensor) {
  return std::holds_alternative<profile::FrequencySensor>(sensor.model);
}

}  // namespace

ElectricalModel::ElectricalModel(const profile::Bench& bench,
                                 std::span<const profile::Fault> faults)
    : bench_(bench),
      faults_(faults.begin(), faults.end()),
      pointers_(PointersTo(faults_)),
      harness_(bench, pointers_),
      values_(static_cast<std::size_t>(harness_.device_count()), 0) {
  const auto inputs = static_cast<std::size_t>(harness_.input_count());
  answer_.input_v.resize(inputs);
  answer_.reference_v.resize(bench.controller->references.size());
  for (std::size_t i = 0; i < bench.triggers.size(); ++i) {
    const bool coil =
        std::holds_alternative<profile::VariableReluctancePickup>(bench.triggers[i].pickup);
    answer_.sources.push_back({static_cast<int>(i), coil, {}, {}});
  }
  for (std::size_t i = 0; i < bench.sensors.size(); ++i) {
    if (!IsPulse(bench.sensors[i])) continue;
    answer_.sources.push_back({static_cast<int>(bench.triggers.size() + i), false, {}, {}});
  }
  for (Source& source : answer_.sources) {
    source.on_v.resize(inputs);
    source.gain.resize(inputs, 0);
  }
}

double ElectricalModel::Quantity(const profile::Sensor& sensor, const Situation& situation) const {
  double value = situation.stimuli[static_cast<std::size_t>(sensor.stimulus)];
  for (const profile::Fault& fault : faults_) {
    if (fault.kind == profile::FaultKind::kSensorOffset && fault.at == sensor.name) {
      value += fault.value;
    }
  }
  return value;
}

Pulses ElectricalModel::PulsesOf(int sensor, const Situation& situation) const {
  const profile::Sensor& s = bench_.sensors[static_cast<std::size_t>(sensor)];
  const auto& model = std::get<profile::FrequencySensor>(s.model);
  const double width = model.width_stimulus < 0
                           ? 0
                           : situation.stimuli[static_cast<std::size_t>(model.width_stimulus)];
  const sensor::Electrical e =
      sensor::ToElectrical(s, bench_.stimuli[static_cast<std::size_t>(s.stimulus)],
                           Quantity(s, situation), bench_.barometric_pressure_kpa, width);
  return {e.hz, e.low_s};
}

const Electrical& ElectricalModel::Solve(const Situation& situation) {
  const std::size_t first = bench_.triggers.size();
  for (std::size_t i = 0; i < bench_.sensors.size(); ++i) {
    const profile::Sensor& sensor = bench_.sensors[i];
    if (IsPulse(sensor)) continue;
    values_[first + i] =
        sensor::ToElectrical(sensor, bench_.stimuli[static_cast<std::size_t>(sensor.stimulus)],
                             Quantity(sensor, situation), bench_.barometric_pressure_kpa)
            .value;
  }
  for (Source& source : answer_.sources) {
    if (source.coil) continue;
    double& value = values_[static_cast<std::size_t>(source.device)];
    value = 1;
    harness_.Solve(values_, source.on_v);
    value = 0;
  }
  harness_.Solve(values_, answer_.input_v);
  for (Source& source : answer_.sources) {
    if (source.coil) harness_.Transfer(source.device, source.gain);
  }
  answer_.supply_v = harness_.ControllerSupply();
  for (std::size_t i = 0; i < answer_.reference_v.size(); ++i) {
    answer_.reference_v[i] = harness_.Reference(static_cast<int>(i));
  }
  return answer_;
}

}  // namespace drycrank::diagnose
