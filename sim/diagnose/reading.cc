// SPDX-License-Identifier: Apache-2.0
#include "diagnose/reading.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string_view>

#include "profile/controller_values.h"
#include "profile/state_names.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::diagnose {
namespace {

using profile::Bench;

// Half a per cent of a sensor's span: common practice for a good sensor with its input, no source.
constexpr double kShareOfSpan = 0.005;
constexpr double kNothing = 0.01;  // of a deviation: what rounding leaves of 0
constexpr double kSpeedRpm = 8, kCamDeg = 0.7, kSupplyV = 0.15;

double SpanOf(const Points& points) {
  if (points.empty()) return 0;
  double low = points[0].second, high = low;
  for (const auto& [x, y] : points) {
    low = std::min(low, y);
    high = std::max(high, y);
  }
  return high - low;
}

// Of a gauge's number: that of the signal it shows, in the unit shown, and its last digit; of a bar, in
// segments.
double GaugeSigma(const Bench& bench, const std::string& carries) {
  const std::string name = carries.substr(0, carries.find('.'));
  const int index = profile::IndexOf(bench.display->gauges, name);
  if (index < 0) return 1;
  const profile::Gauge& gauge = Nth(bench.display->gauges, index);
  const double digit = std::pow(10.0, -gauge.decimals);
  const profile::SignalRef source = profile::FindSignal(bench, gauge.message + "." + gauge.signal);
  if (source.signal < 0 || !bench.controller) return digit;
  const profile::Signal& signal = profile::SignalAt(bench, source);
  const double sigma = std::max(ControllerSigma(*bench.controller, signal.carries),
                                signal.is_float ? 0 : std::abs(signal.scale) / 2);
  double shown = ConvertDifference(sigma, signal.unit, gauge.unit).value_or(sigma);
  if (gauge.bar) shown *= gauge.bar->segments / (gauge.bar->high - gauge.bar->low);
  return std::hypot(shown, digit / 2);
}

double SigmaOf(const Bench& bench, const profile::Message& message, const profile::Signal& signal) {
  const double own = message.sender == profile::Sender::kDisplay
                         ? GaugeSigma(bench, signal.carries)
                         : ControllerSigma(*bench.controller, signal.carries);
  return signal.is_float ? own : std::hypot(own, std::abs(signal.scale) / 2);
}

}  // namespace

bool IsCount(std::string_view carries) {
  return profile::KindOfValue(carries) == profile::CarriedKind::kCount;
}

bool IsDiscrete(std::string_view carries) {
  return profile::KindOfValue(carries) == profile::CarriedKind::kState;
}

double ControllerSigma(const profile::Controller& controller, const std::string& carries) {
  if (carries == "engine_speed") return kSpeedRpm;
  if (carries.starts_with("cam_angle.")) return kCamDeg;
  if (carries == "supply_voltage") return kSupplyV;
  for (const profile::AnalogChannel& channel : controller.analog) {
    if (channel.name == carries) return kShareOfSpan * SpanOf(channel.value_at_volts);
  }
  for (const profile::FrequencyChannel& channel : controller.frequency) {
    if (channel.name != carries) continue;
    return kShareOfSpan * std::max(SpanOf(channel.value_at_hz), SpanOf(channel.value_at_low_ms));
  }
  return 0.5;
}

std::string InWords(const Reading& reading, double value) {
  if (std::isnan(value)) return "nothing";
  const bool nothing = std::abs(value) < kNothing * reading.sigma;
  const std::string number = fmt::format("{:.4g}", nothing ? 0 : value);
  const auto name = reading.names.find(value);
  if (name != reading.names.end()) return fmt::format("{} ({})", number, DisplayUnit(name->second));
  return WithUnit(number, reading.unit);
}

std::string InWords(const Reading& reading, const Prediction& prediction) {
  if (prediction.is_none()) return "nothing";
  const std::string low = InWords(reading, prediction.low());
  if (prediction.is_value() || prediction.low() == prediction.high()) return low;
  const std::string high = InWords(reading, prediction.high());
  return prediction.is_restless() ? fmt::format("what comes and goes between {} and {}", low, high)
                                  : fmt::format("a value between {} and {}", low, high);
}

Observation AsSeen(const PredictedRows& rows) {
  Observation seen;
  for (const Predictions& row : rows) {
    Values values;
    for (const Prediction& prediction : row) {
      values.push_back(prediction.is_none() ? std::nan("")
                                            : (prediction.low() + prediction.high()) / 2);
    }
    seen.push_back(std::move(values));
  }
  return seen;
}

Situation RestOf(const profile::Bench& bench) {
  Situation rest;
  rest.name = "at rest";
  for (const profile::Stimulus& stimulus : bench.stimuli) rest.stimuli.push_back(stimulus.initial);
  return rest;
}

std::vector<Reading> ReadingsOf(const Bench& bench) {
  std::vector<Reading> readings;
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    const auto& messages = bench.buses[b].messages;
    for (std::size_t m = 0; m < messages.size(); ++m) {
      const profile::Message& message = messages[m];
      const bool controller = message.sender == profile::Sender::kController && bench.controller;
      const bool display = message.sender == profile::Sender::kDisplay && bench.display;
      if (!controller && !display) continue;
      for (std::size_t s = 0; s < message.signals.size(); ++s) {
        const profile::Signal& signal = message.signals[s];
        if (signal.carries.empty() || IsCount(signal.carries)) continue;
        Reading reading;
        reading.signal = {static_cast<int>(b), static_cast<int>(m), static_cast<int>(s)};
        reading.name = message.name + "." + signal.name;
        reading.unit = signal.unit;
        reading.carries = signal.carries;
        reading.discrete = IsDiscrete(signal.carries) || signal.length_bits == 1;
        for (const auto& [raw, name] : profile::NamesOfValues(signal)) {
          reading.names[static_cast<double>(raw) * signal.scale + signal.offset] = name;
        }
        reading.turning =
            signal.carries == "sync_reason" || signal.carries.starts_with("cam_angle.");
        reading.sigma = reading.discrete ? 1 : SigmaOf(bench, message, signal);
        readings.push_back(reading);
      }
    }
  }
  return readings;
}

}  // namespace drycrank::diagnose
