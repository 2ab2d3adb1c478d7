// SPDX-License-Identifier: Apache-2.0
#include "tests/support/nodal_reports.h"

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace drycrank::support {
namespace {

double AtVolts(const Points& table, double volts) {
  if (volts <= table.front().first) return table.front().second;
  for (std::size_t i = 1; i < table.size(); ++i) {
    const auto& [x0, y0] = table[i - 1];
    const auto& [x1, y1] = table[i];
    if (volts <= x1) return y0 + (y1 - y0) * (volts - x0) / (x1 - x0);
  }
  return table.back().second;
}

std::size_t InputOf(const profile::Controller& controller, const std::string& terminal) {
  for (std::size_t i = 0; i < controller.inputs.size(); ++i) {
    if (controller.inputs[i].terminal == terminal) return i;
  }
  throw std::logic_error("a channel without an input");
}

// What of a value is left in its frame.
double AsSent(const profile::Signal& signal, double value) {
  if (signal.is_float) return static_cast<double>(static_cast<float>(value));
  const double most = std::pow(2.0, signal.length_bits) - 1;
  const double raw = std::round((value - signal.offset) / signal.scale);
  return std::clamp(raw, 0.0, most) * signal.scale + signal.offset;
}

void ReportChannel(const profile::AnalogChannel& channel, const Departure& departure, double volt,
                   ControllerReports& reports) {
  const bool low = volt<channel.low_v, high = volt> channel.high_v;
  reports[channel.name + ".fault"] = low ? 1 : high ? 2 : 0;
  double& value = reports[channel.name] = channel.fallback;
  if (low || high) return;
  value = AtVolts(channel.value_at_volts, volt);
  const auto told = departure.told.find(channel.name);
  if (told != departure.told.end()) value = value * told->second.gain + told->second.offset;
}

}  // namespace

ControllerReports ReportsAt(const profile::Bench& bench, const Departure& departure,
                            const Volts& volts) {
  const profile::Controller& c = *bench.controller;
  ControllerReports reports;
  if (volts.supply_v < c.min_supply_v) return reports;
  reports["supply_voltage"] = volts.supply_v * (1 + departure.supply_reading_gain);
  for (const profile::AnalogChannel& channel : c.analog) {
    double volt = volts.input_v[InputOf(c, channel.terminal)];
    // Less than a tenth of the nominal reference is taken for a tenth.
    const double nominal = c.references[0].voltage_v;
    if (channel.ratiometric) volt *= nominal / std::max(volts.reference_v[0], 0.1 * nominal);
    ReportChannel(channel, departure, volt, reports);
  }
  return reports;
}

ControllerReports ReportsOf(const profile::Bench& bench, const Departure& departure,
                            const std::vector<double>& stimuli) {
  const profile::Controller& c = *bench.controller;
  const Volts volts = VoltsOf(bench, departure, stimuli);
  ControllerReports reports = ReportsAt(bench, departure, volts);
  if (reports.empty() || c.triggers.empty() || stimuli[0] <= 0) return reports;
  const profile::TriggerChannel& crank = c.triggers[0];
  const std::size_t input = InputOf(c, crank.terminal);
  const double off_v = volts.input_v[input];
  const double on_v = VoltsOf(bench, departure, stimuli, true).input_v[input];
  const bool seen = std::max(on_v, off_v) >= crank.high_v && std::min(on_v, off_v) <= crank.low_v;
  reports["engine_speed"] = seen ? stimuli[0] : 0;
  reports["sync_state"] = seen ? 3 : 0;
  return reports;
}

std::optional<double> Received(const profile::Bench& bench, const profile::SignalRef& at,
                               const ControllerReports& reports) {
  if (reports.empty()) return std::nullopt;
  const profile::Signal& signal = profile::SignalAt(bench, at);
  return AsSent(signal, reports.at(signal.carries));
}

}  // namespace drycrank::support
