// SPDX-License-Identifier: Apache-2.0
#include "proofread/pins.h"

#include <algorithm>
#include <variant>

#include "plant/sources.h"
#include "profile/device_leads.h"
#include "profile/sensors.h"
#include "profile/triggers.h"
#include "sensor/linear.h"
#include "sensor/sensor.h"
#include "standin/conversion.h"
#include "types/nth.h"
#include "walk/device_wires.h"

namespace drycrank::proofread {
namespace {

double ZeroShiftOf(const profile::Bench& bench, const profile::Sensor& sensor) {
  const auto* model = std::get_if<profile::RatiometricSensor>(&sensor.model);
  if (model == nullptr) return 0;
  const profile::Stimulus& stimulus = Nth(bench.stimuli, sensor.stimulus);
  return sensor::ZeroShift(stimulus.reference, model->reference, bench.barometric_pressure_kpa,
                           stimulus.unit);
}

Span StatedSpan(const profile::Bench& bench, const profile::Sensor& sensor) {
  if (const auto* m = std::get_if<profile::RatiometricSensor>(&sensor.model)) {
    const double shift = ZeroShiftOf(bench, sensor);
    const auto [low, high] = std::minmax(m->low_value, m->high_value);
    return {low - shift, high - shift};
  }
  if (const auto* v = std::get_if<profile::VoltageSensor>(&sensor.model)) {
    return {v->volts_at_value.front().first, v->volts_at_value.back().first};
  }
  return {sensor.min, sensor.max};
}

}  // namespace

Pins::Pins(const profile::Bench& bench)
    : bench_(bench), harness_(bench, {}), at_rest_(bench.triggers.size() + bench.sensors.size()) {
  plant::DevicesAtRest(
      bench, [&](int stimulus) { return Nth(bench.stimuli, stimulus).initial; }, {}, at_rest_);
}

int Pins::InputOf(const std::vector<std::string>& leads) const {
  for (const std::string& lead : leads) {
    const int input = standin::InputIndex(*bench_.controller, walk::InputOf(bench_, lead));
    if (input >= 0) return input;
  }
  return -1;
}

int Pins::InputOfTrigger(int trigger) const {
  const profile::DeviceLeads leads = profile::LeadsOf(Nth(bench_.triggers, trigger).pickup);
  if (leads.gives == profile::Gives::kCoil) return InputOf({leads.signal, leads.ground});
  return InputOf({leads.signal});
}

int Pins::InputOfSensor(int sensor) const {
  return InputOf(walk::SignalTerminals(Nth(bench_.sensors, sensor).model));
}

bool Pins::LeadsReversed(int trigger, int input) {
  SolveWith(trigger, 0, input);
  std::vector<double> gain(harness_.input_count());
  harness_.Transfer(trigger, gain);
  return Nth(gain, input) < 0;
}

Pins::Levels Pins::LevelsOf(int device, int input) {
  return {SolveWith(device, 0, input), SolveWith(device, 1, input)};
}

double Pins::SolveWith(int device, double value, int input) {
  std::vector<double> values = at_rest_;
  Nth(values, device) = value;
  std::vector<double> volts(harness_.input_count());
  harness_.Solve(values, volts);
  return Nth(volts, input);
}

Pins::Volts Pins::VoltsAt(int sensor, double value, int input) {
  const profile::Sensor& s = Nth(bench_.sensors, sensor);
  const Source source =
      sensor::ToSource(s, Nth(bench_.stimuli, s.stimulus), value, bench_.barometric_pressure_kpa);
  const double volts = SolveWith(Device(sensor), source.value, input);
  std::vector<double> references;
  for (std::size_t i = 0; i < bench_.controller->references.size(); ++i) {
    references.push_back(harness_.Reference(static_cast<int>(i)));
  }
  return {volts, volts * standin::ReferenceScale(*bench_.controller, references)};
}

Source Pins::PulsesAt(int sensor, double value, double width_value) const {
  const profile::Sensor& s = Nth(bench_.sensors, sensor);
  return sensor::ToSource(s, Nth(bench_.stimuli, s.stimulus), value, bench_.barometric_pressure_kpa,
                          width_value);
}

Span LawSpan(const profile::Bench& bench, const profile::Sensor& sensor) {
  const Span stated = StatedSpan(bench, sensor);
  return {std::max(stated.low, sensor.min), std::min(stated.high, sensor.max)};
}

double Sensed(const profile::Bench& bench, const profile::Sensor& sensor, double value) {
  return value + ZeroShiftOf(bench, sensor);
}

}  // namespace drycrank::proofread
