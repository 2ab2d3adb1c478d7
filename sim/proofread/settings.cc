// SPDX-License-Identifier: Apache-2.0
#include "proofread/settings.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <variant>

#include "profile/sensors.h"
#include "profile/triggers.h"
#include "proofread/built_edges.h"
#include "proofread/pins.h"
#include "standin/pattern.h"
#include "types/angle.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::proofread {
namespace {

using profile::Bench;
using profile::InputCircuit;
using profile::Sensor;

const InputCircuit& InputAt(const Bench& bench, int input) {
  return Nth(bench.controller->inputs, input);
}

double ToothOneDeg(const profile::TriggerChannel& channel, double cycle_deg) {
  profile::TriggerChannel first = channel;
  first.wheel.teeth.resize(1);
  if (channel.shaft == profile::Shaft::kRotor) cycle_deg = profile::kRotorTurnDeg;
  const auto edges_deg = standin::ActiveEdgesDeg(first, cycle_deg);
  // A wheel on the crank has it in both turns: the one that its offset names.
  const double turn_deg = channel.offset_deg >= 360 ? 360 : 0;
  return channel.shaft != profile::Shaft::kCrank || cycle_deg == 360
             ? edges_deg.front()
             : WrapDeg(edges_deg.front() + turn_deg, cycle_deg);
}

double TurnedDeg(const Bench& bench, const profile::Trigger& trigger) {
  if (trigger.advance_stimulus < 0) return 0;
  const profile::Stimulus& advance = Nth(bench.stimuli, trigger.advance_stimulus);
  return std::max(std::abs(advance.min), std::abs(advance.max));
}

// Turned by some of its teeth its edges look the same, and their other ends do not.
bool WidthsTell(profile::TriggerChannel channel, double cycle_deg) {
  if (channel.shaft != profile::Shaft::kCam) return false;
  channel.both_edges = true;
  const auto edges_deg = standin::ActiveEdgesDeg(channel, cycle_deg);
  const auto others_deg = standin::OtherEdgesDeg(channel, cycle_deg);
  return std::any_of(edges_deg.begin() + 1, edges_deg.end(), [&](double edge_deg) {
    const double shift_deg = edge_deg - edges_deg.front();
    return FitsTurned(edges_deg, shift_deg, channel.window_deg, cycle_deg) &&
           !FitsTurned(others_deg, shift_deg, channel.window_deg, cycle_deg);
  });
}

TriggerSettings TriggerOf(const Bench& bench, Pins& pins, int index, int input) {
  const profile::Trigger& built = Nth(bench.triggers, index);
  const bool coil = std::holds_alternative<profile::VariableReluctancePickup>(built.pickup);
  const bool reversed = coil && pins.LeadsReversed(index, input);
  TriggerSettings out;
  out.name = built.name;
  out.label = built.label;
  out.terminal = InputAt(bench, input).terminal;
  out.minus = InputAt(bench, input).minus;
  out.coil = coil;
  out.wheel = ShouldBeTold(built, reversed);
  out.wheel.both_edges = !coil && WidthsTell(out.wheel, bench.engine.cycle_deg());
  out.wheel_zero_deg = built.offset_deg;
  out.tooth_one_deg = ToothOneDeg(out.wheel, bench.engine.cycle_deg());
  out.edges_deg = BuiltEdgesDeg(built, bench.engine, out.wheel.edge, reversed);
  out.least_window_deg = TurnedDeg(bench, built);
  if (!coil) {
    const Pins::Levels levels = pins.LevelsOfTrigger(index, input);
    out.low_v = levels.conducting_v;
    out.high_v = levels.open_v;
  }
  return out;
}

// ---- tables -----------------------------------------------------------------------------------

constexpr double kMostRows = 20;

// 1, 2 or 5 times a power of ten, so that the span has at most kMostRows of it.
double StepFor(double span) {
  const double least = span / kMostRows;
  const double power = std::pow(10, std::floor(std::log10(least)));
  for (const double factor : {1.0, 2.0, 5.0}) {
    if (factor * power >= least * (1 - 1e-9)) return factor * power;
  }
  return 10 * power;
}

// Both ends and the whole steps between them.
std::vector<double> Stepped(const Span& span) {
  const double step = StepFor(span.high - span.low);
  std::vector<double> values{span.low};
  for (double k = std::floor(span.low / step) + 1; k * step < span.high - 1e-6 * step; ++k) {
    if (k * step > span.low + 1e-6 * step) values.push_back(k * step);
  }
  values.push_back(span.high);
  return values;
}

// Where a curve is bent it takes many points, a straight line three, a switch two.
struct RowsOf {
  Span span;

  std::vector<double> operator()(const profile::RatiometricSensor&) const {
    return {span.low, span.At(0.5), span.high};
  }
  std::vector<double> operator()(const profile::VoltageSensor& sensor) const {
    std::vector<double> values{span.low};
    for (const auto& [value, volts] : sensor.volts_at_value) {
      if (value > span.low && value < span.high) values.push_back(value);
    }
    values.push_back(span.high);
    return values;
  }
  std::vector<double> operator()(const profile::SwitchSensor&) const {
    return {span.low, span.high};
  }
  template <class Bent>
  std::vector<double> operator()(const Bent&) const {
    return Stepped(span);
  }
};

std::string ZeroOf(const Sensor& sensor) {
  const auto* m = std::get_if<profile::RatiometricSensor>(&sensor.model);
  if (m == nullptr) return "";
  return m->reference == profile::PressureReference::kAbsolute ? "absolute" : "gauge";
}

TableSettings TableOf(const Bench& bench, Pins& pins, int index, int input) {
  const Sensor& sensor = Nth(bench.sensors, index);
  TableSettings out;
  out.name = sensor.name;
  out.label = sensor.label;
  out.terminal = InputAt(bench, input).terminal;
  out.unit = Nth(bench.stimuli, sensor.stimulus).unit;
  const bool pressure = Convert(1, out.unit, "kPa").has_value();
  out.zero = pressure ? ZeroOf(sensor) : "";
  out.pull_up_ohm = InputAt(bench, input).pull_up_ohm;
  out.of_reference = std::holds_alternative<profile::RatiometricSensor>(sensor.model);
  for (const double value : std::visit(RowsOf{LawSpan(bench, sensor)}, sensor.model)) {
    const Pins::Volts volts = pins.VoltsAt(index, value, input);
    out.volts_at.emplace_back(Sensed(bench, sensor, value),
                              out.of_reference ? volts.of_reference_v : volts.at_pin_v);
  }
  return out;
}

PulseSettings PulsesOf(const Bench& bench, Pins& pins, int index, int input) {
  const Sensor& sensor = Nth(bench.sensors, index);
  const auto& law = std::get<profile::FrequencySensor>(sensor.model);
  PulseSettings out;
  out.name = sensor.name;
  out.label = sensor.label;
  out.terminal = InputAt(bench, input).terminal;
  out.unit = Nth(bench.stimuli, sensor.stimulus).unit;
  out.hz_at_zero = law.hz_at_zero;
  out.hz_per_unit = law.hz_per_unit;
  const Pins::Levels levels = pins.LevelsOfSensor(index, input);
  out.low_v = levels.conducting_v;
  out.high_v = levels.open_v;
  if (law.width_stimulus >= 0) {
    out.width_of = Nth(bench.stimuli, law.width_stimulus).name;
    out.low_ms_at = {{law.width_low_degc, law.width_ms_at_low},
                     {law.width_high_degc, law.width_ms_at_high}};
  }
  return out;
}

// ---- what the bench does not say ----------------------------------------------------------------

void AddTriggers(const Bench& bench, Pins& pins, Settings& out) {
  for (std::size_t i = 0; i < bench.triggers.size(); ++i) {
    const int input = pins.InputOfTrigger(static_cast<int>(i));
    if (input >= 0) {
      out.triggers.push_back(TriggerOf(bench, pins, static_cast<int>(i), input));
    } else {
      out.left_out.push_back(
          fmt::format("trigger {}: no wire leads from it to an input of the controller",
                      bench.triggers[i].name));
    }
  }
}

void AddSensors(const Bench& bench, Pins& pins, Settings& out) {
  for (std::size_t i = 0; i < bench.sensors.size(); ++i) {
    const Sensor& sensor = bench.sensors[i];
    const int index = static_cast<int>(i);
    const int input = pins.InputOfSensor(index);
    const Span span = LawSpan(bench, sensor);
    if (input < 0) {
      out.left_out.push_back(fmt::format(
          "sensor {}: no wire leads from it to an input of the controller", sensor.name));
    } else if (std::holds_alternative<profile::FrequencySensor>(sensor.model)) {
      out.pulses.push_back(PulsesOf(bench, pins, index, input));
    } else if (span.low < span.high) {
      out.tables.push_back(TableOf(bench, pins, index, input));
    } else {
      out.left_out.push_back(
          fmt::format("sensor {}: 'min' and 'max' leave nothing of its law", sensor.name));
    }
  }
}

}  // namespace

Settings SettingsOf(const Bench& bench) {
  Pins pins(bench);
  Settings out;
  if (!bench.engine.advance_deg) {
    out.left_out.emplace_back(
        "ignition advance: what the engine was designed for is not written (advance_deg of the "
        "engine)");
  }
  out.left_out.emplace_back(
      "dwell, injection time and its end: a bench does not say what coils and injectors need");
  if (bench.display && bench.readouts.empty()) {
    out.left_out.emplace_back("what the display must show: write it under readouts");
  }
  AddTriggers(bench, pins, out);
  AddSensors(bench, pins, out);
  const bool has_cam = std::any_of(out.triggers.begin(), out.triggers.end(), [](const auto& t) {
    return t.wheel.shaft == profile::Shaft::kCam;
  });
  if (bench.engine.strokes == 4 && !has_cam) out.firing = profile::Firing::kPaired;
  return out;
}

}  // namespace drycrank::proofread
