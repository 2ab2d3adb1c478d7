// SPDX-License-Identifier: Apache-2.0
#include "walk/values.h"

#include <algorithm>
#include <variant>

#include "profile/sensors.h"
#include "profile/triggers.h"
#include "types/nth.h"
#include "types/unit.h"
#include "walk/device_wires.h"

namespace drycrank::walk {
namespace {

using profile::Bench;
using profile::Sensor;

// The values of a channel's table, in the zero of the sensor's stimulus.
Span TableOf(const Bench& bench, const profile::AnalogChannel& channel, const Sensor& sensor) {
  Span table{1e300, -1e300};
  for (const auto& [volts, value] : channel.value_at_volts) {
    table.low = std::min(table.low, value);
    table.high = std::max(table.high, value);
  }
  const profile::Stimulus& stimulus = Nth(bench.stimuli, sensor.stimulus);
  const auto* model = std::get_if<profile::RatiometricSensor>(&sensor.model);
  if (model != nullptr && model->reference == profile::PressureReference::kAbsolute &&
      stimulus.reference == profile::PressureReference::kGauge) {
    const double zero =
        ConvertDifference(bench.barometric_pressure_kpa, "kPa", channel.unit).value_or(0);
    table = {table.low - zero, table.high - zero};
  }
  const auto low = Convert(table.low, channel.unit, stimulus.unit);
  const auto high = Convert(table.high, channel.unit, stimulus.unit);
  return low && high ? Span{*low, *high} : Span{-1e300, 1e300};
}

}  // namespace

bool IsSentBySimulator(const Bench& bench, int stimulus) {
  const std::string& name = Nth(bench.stimuli, stimulus).name;
  for (const profile::Bus& bus : bench.buses) {
    for (const profile::Message& message : bus.messages) {
      if (message.sender != profile::Sender::kSimulator) continue;
      for (const profile::Signal& signal : message.signals) {
        if (signal.carries == name) return true;
      }
    }
  }
  return false;
}

std::vector<std::string> ChannelsOf(const Bench& bench, const Sensor& sensor) {
  std::vector<std::string> names;
  for (const std::string& terminal : SignalTerminals(sensor.model)) {
    const std::string input = InputOf(bench, terminal);
    if (input.empty()) continue;
    for (const auto& channel : bench.controller->analog) {
      if (channel.terminal == input) names.push_back(channel.name);
    }
    for (const auto& channel : bench.controller->frequency) {
      if (channel.terminal == input) names.push_back(channel.name);
    }
  }
  return names;
}

Span SpanOf(const Bench& bench, const Sensor& sensor) {
  const profile::Stimulus& stimulus = Nth(bench.stimuli, sensor.stimulus);
  Span span{std::max(sensor.min, stimulus.min), std::min(sensor.max, stimulus.max)};
  for (const std::string& name : ChannelsOf(bench, sensor)) {
    const int index = profile::IndexOf(bench.controller->analog, name);
    if (index < 0) continue;
    const Span table = TableOf(bench, Nth(bench.controller->analog, index), sensor);
    span = {std::max(span.low, table.low), std::min(span.high, table.high)};
  }
  if (span.low >= span.high) span = {stimulus.min, stimulus.max};
  return span;
}

std::string CarryingSignal(const Bench& bench, const std::string& value) {
  for (const profile::Bus& bus : bench.buses) {
    for (const profile::Message& message : bus.messages) {
      if (message.sender != profile::Sender::kController) continue;
      for (const profile::Signal& signal : message.signals) {
        if (signal.carries == value) return message.name + "." + signal.name;
      }
    }
  }
  return "";
}

double PeriodS(const Bench& bench, const std::string& signal) {
  const profile::SignalRef at = profile::FindSignal(bench, signal);
  return at.signal < 0 ? 0 : profile::MessageAt(bench, {at.bus, at.message}).period_ms / 1000;
}

double SlowestPeriodS(const Bench& bench, int stimulus) {
  double slowest_s = 0;
  for (const Sensor& sensor : bench.sensors) {
    if (stimulus >= 0 && sensor.stimulus != stimulus) continue;
    for (const std::string& channel : ChannelsOf(bench, sensor)) {
      slowest_s = std::max(slowest_s, PeriodS(bench, CarryingSignal(bench, channel)));
    }
  }
  return slowest_s;
}

bool IsAbsolute(const Bench& bench, const std::string& value) {
  for (const Sensor& sensor : bench.sensors) {
    const auto* model = std::get_if<profile::RatiometricSensor>(&sensor.model);
    if (model == nullptr || model->reference != profile::PressureReference::kAbsolute) continue;
    for (const std::string& channel : ChannelsOf(bench, sensor)) {
      if (channel == value) return true;
    }
  }
  return false;
}

bool IsWidthChannel(const Bench& bench, const std::string& name) {
  const int index = profile::IndexOf(bench.controller->frequency, name);
  return index >= 0 && !Nth(bench.controller->frequency, index).value_at_low_ms.empty();
}

std::vector<std::string> CircuitsToInput(const Bench& bench, const std::string& input) {
  for (const profile::Trigger& trigger : bench.triggers) {
    if (!trigger.fitted) continue;
    const std::vector<std::string> terminals = Terminals(trigger.pickup);
    for (const std::string& terminal : terminals) {
      if (InputOf(bench, terminal) == input) return CircuitsOf(bench, terminals);
    }
  }
  return {};
}

}  // namespace drycrank::walk
