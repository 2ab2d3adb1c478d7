// SPDX-License-Identifier: Apache-2.0
//
// The controller's tables against the laws of the sensors that are wired to their terminals: at
// both ends of the sensor's span and in its middle, the sensor's output goes through harness and
// input circuit as drawn, and what the table makes of it is compared with the quantity.
//
//   wrong   where quantity lies outside [table(v - dv), table(v + dv)] widened by 1 % of the span;
//           dv = 0.5 % of the table's volts (of its hertz, of its milliseconds)
//
// dv is what no input measures better, 1 % what no one would notice. Common practice, no source.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <variant>

#include "plant/sources.h"
#include "profile/device_leads.h"
#include "profile/sensors.h"
#include "proofread/told.h"
#include "proofread/words.h"
#include "types/nth.h"
#include "types/points.h"
#include "types/unit.h"

namespace drycrank::proofread {
namespace {

using profile::AnalogChannel;
using profile::FrequencyChannel;
using profile::Sensor;

constexpr double kOfInput = 0.005;
constexpr double kOfSpan = 0.01;

// What goes into a table, and what should come out, in the channel's unit.
struct Point {
  double input = 0;
  double should_be = 0;
};

struct Wrong {
  Point point;
  double told = 0;
};

// Where the table must be right: the whole line of a sensor that has one, of a curve what the
// stimulus can be driven to. Beyond, a table may end.
Span NeededSpan(const profile::Bench& bench, const Sensor& sensor) {
  const Span law = LawSpan(bench, sensor);
  if (std::holds_alternative<profile::RatiometricSensor>(sensor.model) ||
      std::holds_alternative<profile::VoltageSensor>(sensor.model)) {
    return law;
  }
  const profile::Stimulus& stimulus = Nth(bench.stimuli, sensor.stimulus);
  return {std::max(law.low, stimulus.min), std::min(law.high, stimulus.max)};
}

// The point at which the table is farthest off; nothing when all are in order.
std::optional<Wrong> FarthestOff(const Points& table, const std::vector<Point>& points,
                                 double span) {
  const double dv = kOfInput * (table.back().first - table.front().first);
  std::optional<Wrong> wrong;
  double farthest = 0;
  for (const Point& point : points) {
    const auto [low, high] =
        std::minmax({Interpolate(table, point.input - dv), Interpolate(table, point.input),
                     Interpolate(table, point.input + dv)});
    const double told = Interpolate(table, point.input);
    const double off = std::max(low - point.should_be, point.should_be - high) - kOfSpan * span;
    if (off <= farthest) continue;
    farthest = off;
    wrong = Wrong{point, told};
  }
  return wrong;
}

template <class Channel>
Diagnostic WrongTable(const Channel& told, std::string_view key, const Wrong& wrong,
                      const Sensor& sensor, const std::string& input) {
  return {told.written.Of(key, told.place),
          fmt::format("the table of '{}' says {} at {}; sensor '{}' gives that at {} ({})",
                      told.name, Value(wrong.told, told.unit), input, sensor.name,
                      Value(wrong.point.should_be, told.unit), At(sensor.place)),
          "set the table of the sensor that is built (drycrank settings), or correct the sensor"};
}

// The quantity at this value of the stimulus as the channel should show it; none: other units.
std::optional<double> Shown(const profile::Bench& bench, const Sensor& sensor, double value,
                            const std::string& unit) {
  return Convert(Sensed(bench, sensor, value), Nth(bench.stimuli, sensor.stimulus).unit, unit);
}

void CannotCompare(const std::string& name, const Place& place, const std::string& why,
                   const std::string& remedy, Compared& out) {
  out.not_compared.push_back({place, fmt::format("the table of '{}': {}", name, why), remedy});
}

// ---- volts ----------------------------------------------------------------------------------

struct OneAnalog {
  const profile::Bench& bench;
  const AnalogChannel& told;
  const Sensor& sensor;
  int index;
  int input;
};

// A switch has two readings: its ends. Everything else has a middle too.
std::vector<double> Shares(const Sensor& sensor) {
  if (std::holds_alternative<profile::SwitchSensor>(sensor.model)) return {0, 1};
  return {0, 0.5, 1};
}

void CompareLimits(const OneAnalog& one, const std::vector<Point>& points, Compared& out) {
  for (const Point& point : points) {
    const bool low = point.input < one.told.low_v;
    if (!low && point.input <= one.told.high_v) continue;
    out.disagreements.push_back(
        {one.told.written.Of(low ? "low_v" : "high_v", one.told.place),
         fmt::format("'{}' is told that {} {:g} V the signal is too {}; sensor '{}' gives {:.3f} V "
                     "at {} ({})",
                     one.told.name, low ? "below" : "above", low ? one.told.low_v : one.told.high_v,
                     low ? "low" : "high", one.sensor.name, point.input,
                     Value(point.should_be, one.told.unit), At(one.sensor.place)),
         "set a limit outside of what the sensor gives, or correct the sensor"});
  }
}

void CompareAnalog(const OneAnalog& one, Pins& pins, Compared& out) {
  const Span span = NeededSpan(one.bench, one.sensor);
  std::vector<Point> points;
  for (const double share : Shares(one.sensor)) {
    const Pins::Volts volts = pins.VoltsAt(one.index, span.At(share), one.input);
    const auto shown = Shown(one.bench, one.sensor, span.At(share), one.told.unit);
    if (!shown) {
      CannotCompare(one.told.name, one.told.place,
                    fmt::format("{} says nothing of what sensor '{}' measures",
                                DisplayUnit(one.told.unit), one.sensor.name),
                    "a unit that converts", out);
      return;
    }
    points.push_back({one.told.ratiometric ? volts.of_reference_v : volts.at_pin_v, *shown});
  }
  CompareLimits(one, points, out);
  const double width = std::abs(points.back().should_be - points.front().should_be);
  if (const auto wrong = FarthestOff(one.told.value_at_volts, points, width)) {
    out.disagreements.push_back(WrongTable(one.told, "value_at_volts", *wrong, one.sensor,
                                           fmt::format("{:.4g} V", wrong->point.input)));
  }
}

// ---- pulses ---------------------------------------------------------------------------------

struct OneFrequency {
  const profile::Bench& bench;
  const FrequencyChannel& told;
  const Sensor& sensor;
  const profile::FrequencySensor& law;
  int index;
  int input;
};

void ComparePulseLevels(const OneFrequency& one, Pins& pins, Compared& out) {
  const Pins::Levels levels = pins.LevelsOfSensor(one.index, one.input);
  const bool high = levels.open_v >= one.told.high_v;
  if (high && levels.conducting_v <= one.told.low_v) return;
  out.disagreements.push_back(
      {one.told.written.Of(high ? "low_v" : "high_v", one.told.place),
       fmt::format("'{}' is told that {} {:g} V is {}; at {} the signal of sensor '{}' goes from "
                   "{:.2f} V to {:.2f} V ({}), and no edge is seen",
                   one.told.name, high ? "below" : "above", high ? one.told.low_v : one.told.high_v,
                   high ? "low" : "high", one.told.terminal, one.sensor.name, levels.conducting_v,
                   levels.open_v, At(one.sensor.place)),
       "set thresholds between the two, or give the input its pull-up"});
}

void CompareHertz(const OneFrequency& one, const Pins& pins, Compared& out) {
  const Span span = NeededSpan(one.bench, one.sensor);
  std::vector<Point> points;
  for (const double share : {0.0, 0.5, 1.0}) {
    const auto shown = Shown(one.bench, one.sensor, span.At(share), one.told.unit);
    if (!shown) {
      CannotCompare(one.told.name, one.told.place,
                    fmt::format("{} says nothing of what sensor '{}' measures",
                                DisplayUnit(one.told.unit), one.sensor.name),
                    "a unit that converts", out);
      return;
    }
    points.push_back({pins.PulsesAt(one.index, span.At(share), 0).hz, *shown});
  }
  const double width = std::abs(points.back().should_be - points.front().should_be);
  if (const auto wrong = FarthestOff(one.told.value_at_hz, points, width)) {
    out.disagreements.push_back(WrongTable(one.told, "value_at_hz", *wrong, one.sensor,
                                           fmt::format("{:.4g} Hz", wrong->point.input)));
  }
}

void CompareLowTime(const OneFrequency& one, const Pins& pins, Compared& out) {
  if (one.law.width_stimulus < 0) {
    CannotCompare(one.told.name, one.told.place,
                  fmt::format("the low time of sensor '{}' says nothing", one.sensor.name),
                  "name its 'width_stimulus'", out);
    return;
  }
  const profile::Stimulus& width = Nth(one.bench.stimuli, one.law.width_stimulus);
  const Span law{one.law.width_low_degc, one.law.width_high_degc};
  const double middle = NeededSpan(one.bench, one.sensor).At(0.5);
  std::vector<Point> points;
  for (const double share : {0.0, 0.5, 1.0}) {
    const auto shown = Convert(law.At(share), "degC", one.told.unit);
    const auto driven = Convert(law.At(share), "degC", width.unit);
    if (!shown || !driven) return;
    points.push_back({pins.PulsesAt(one.index, middle, law.At(share)).low_s * 1e3, *shown});
  }
  const double span = std::abs(points.back().should_be - points.front().should_be);
  if (const auto wrong = FarthestOff(one.told.value_at_low_ms, points, span)) {
    out.disagreements.push_back(WrongTable(one.told, "value_at_low_ms", *wrong, one.sensor,
                                           fmt::format("{:.4g} ms low", wrong->point.input)));
  }
}

int SensorAt(const profile::Bench& bench, const Pins& pins, const std::string& terminal) {
  for (std::size_t i = 0; i < bench.sensors.size(); ++i) {
    const int input = pins.InputOfSensor(static_cast<int>(i));
    if (input >= 0 && Nth(bench.controller->inputs, input).terminal == terminal) {
      return static_cast<int>(i);
    }
  }
  return -1;
}

// -1, and it is said, when no sensor reaches the channel's terminal, or none that can be driven.
template <class Channel>
int SensorOf(const profile::Bench& bench, const Pins& pins, const Channel& told, Compared& out) {
  const int sensor = SensorAt(bench, pins, told.terminal);
  if (sensor < 0) {
    CannotCompare(told.name, told.place, fmt::format("no sensor is wired to {}", told.terminal),
                  "draw its wires, if there is one", out);
    return -1;
  }
  const Span span = NeededSpan(bench, Nth(bench.sensors, sensor));
  if (span.low < span.high) return sensor;
  CannotCompare(told.name, told.place,
                fmt::format("its stimulus is never where sensor '{}' measures",
                            Nth(bench.sensors, sensor).name),
                "let the ranges of the two meet", out);
  return -1;
}

}  // namespace

void CompareTables(const profile::Bench& bench, Pins& pins, Compared& out) {
  for (const AnalogChannel& told : bench.controller->analog) {
    const int index = SensorOf(bench, pins, told, out);
    if (index < 0) continue;
    const Sensor& sensor = Nth(bench.sensors, index);
    if (profile::GivenBy(sensor.model) == profile::Gives::kPulses) {
      out.disagreements.push_back(
          {told.place,
           fmt::format("'{}' is told to read volts at {}; sensor '{}' there gives pulses ({})",
                       told.name, told.terminal, sensor.name, At(sensor.place)),
           "set a frequency channel, or correct the wires"});
      continue;
    }
    CompareAnalog({bench, told, sensor, index, pins.InputOfSensor(index)}, pins, out);
  }
  for (const FrequencyChannel& told : bench.controller->frequency) {
    const int index = SensorOf(bench, pins, told, out);
    if (index < 0) continue;
    const Sensor& sensor = Nth(bench.sensors, index);
    const auto* law = std::get_if<profile::FrequencySensor>(&sensor.model);
    if (law == nullptr) {
      out.disagreements.push_back(
          {told.place,
           fmt::format("'{}' is told to count pulses at {}; sensor '{}' there gives none ({})",
                       told.name, told.terminal, sensor.name, At(sensor.place)),
           "set a voltage channel, or correct the wires"});
      continue;
    }
    const OneFrequency one{bench, told, sensor, *law, index, pins.InputOfSensor(index)};
    ComparePulseLevels(one, pins, out);
    if (!told.value_at_hz.empty()) CompareHertz(one, pins, out);
    if (!told.value_at_low_ms.empty()) CompareLowTime(one, pins, out);
  }
  for (std::size_t i = 0; i < bench.sensors.size(); ++i) {
    const int input = pins.InputOfSensor(static_cast<int>(i));
    const auto listens = [&](const auto& channel) {
      return input >= 0 && channel.terminal == Nth(bench.controller->inputs, input).terminal;
    };
    const auto& k = *bench.controller;
    if (std::any_of(k.analog.begin(), k.analog.end(), listens) ||
        std::any_of(k.frequency.begin(), k.frequency.end(), listens)) {
      continue;
    }
    const Sensor& sensor = bench.sensors[i];
    out.not_compared.push_back(
        {sensor.place,
         fmt::format("sensor '{}': {}", sensor.name,
                     input < 0 ? "no wire leads from it to an input of the controller"
                               : "no channel of the controller listens there"),
         "draw the wire, or write what has been set in the controller"});
  }
}

}  // namespace drycrank::proofread
