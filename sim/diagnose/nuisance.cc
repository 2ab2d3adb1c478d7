// SPDX-License-Identifier: Apache-2.0
#include "diagnose/nuisance.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <variant>

#include "profile/devices.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;
using profile::Fault;

constexpr double kShareOfSpan = 0.005;
constexpr double kWeatherKpa = 1.5, kCamDeg = 0.5, kDividerShare = 0.006;
constexpr double kShiftShare = 0.005;
constexpr double kPushV = 0.05;
constexpr double kNegligible = 1e-6;  // of what a block may be off by itself

Fault Make(const profile::FaultKind& kind, const std::string& at) {
  Fault made;
  made.kind = kind;
  made.at = at;
  made.name = at;
  return made;
}

// Absolute pressure sensed where the bench drives gauge pressure, or the other way about.
bool FeelsWeather(const profile::Bench& bench, const profile::Sensor& sensor) {
  const auto* ratio = std::get_if<profile::RatiometricSensor>(&sensor.model);
  if (ratio == nullptr) return false;
  return ratio->reference != Nth(bench.stimuli, sensor.stimulus).reference;
}

double SpanOf(const profile::Bench& bench, const profile::Sensor& sensor) {
  const auto& stimulus = Nth(bench.stimuli, sensor.stimulus);
  return std::min(sensor.max, stimulus.max) - std::max(sensor.min, stimulus.min);
}

std::vector<Fault> Together(std::span<const Fault> faults, const std::vector<Fault>& more) {
  std::vector<Fault> all(faults.begin(), faults.end());
  all.insert(all.end(), more.begin(), more.end());
  return all;
}

}  // namespace

Nuisances::Nuisances(Predictor& predictor, const Facts& facts)
    : predictor_(predictor), facts_(facts), everywhere_(facts.situations()) {
  std::iota(everywhere_.begin(), everywhere_.end(), std::size_t{0});
  const profile::Bench& bench = predictor.bench();
  names_.push_back("supply");
  if (!bench.supplies.empty()) {
    supply_deviations_ = kPushV / (kOfTolerance * bench.supplies.front().tolerance_v);
  }
  std::vector<Fault> high, low;
  for (std::size_t i = 0; i < bench.sensors.size(); ++i) {
    const profile::Sensor& sensor = bench.sensors[i];
    if (!sensor.fitted) continue;
    if (FeelsWeather(bench, sensor)) {
      const auto& unit = Nth(bench.stimuli, sensor.stimulus).unit;
      const double off = ConvertDifference(kWeatherKpa, "kPa", unit).value_or(kWeatherKpa);
      high.push_back(Make(fault::SensorOffset{off}, sensor.name));
      low.push_back(Make(fault::SensorOffset{-off}, sensor.name));
    }
    if (std::holds_alternative<profile::SwitchSensor>(sensor.model)) continue;
    const double off = kShareOfSpan * SpanOf(bench, sensor);
    pushes_.push_back({{Make(fault::SensorOffset{off}, sensor.name)},
                       {Make(fault::SensorOffset{-off}, sensor.name)},
                       1,
                       static_cast<int>(i)});
    names_.push_back(sensor.name + " offset");
    names_.push_back(sensor.name + " gain");
  }
  if (!high.empty()) {
    pushes_.push_back({high, low, 1, -1});
    names_.push_back("weather");
  }
  for (std::size_t s = 1; s < bench.supplies.size(); ++s) {
    const double off = kOfTolerance * bench.supplies[s].tolerance_v;
    pushes_.push_back({{Make(fault::SupplyOff{kPushV}, bench.supplies[s].name)},
                       {Make(fault::SupplyOff{-kPushV}, bench.supplies[s].name)},
                       kPushV / off,
                       -1});
    names_.push_back(bench.supplies[s].name);
  }
  // What the controller itself adds: one for each cam, and the divider of its own supply.
  names_.push_back("divider");
  for (const auto& channel : bench.controller->triggers) names_.push_back(channel.name);
  names_.push_back("shift");
}

ValueRows Nuisances::ValuesOf(std::span<const Fault> faults,
                              std::span<const std::size_t> situations,
                              const std::vector<bool>* wanted) const {
  ValueRows rows(facts_.situations());
  Trial trial(predictor_, faults);
  for (const std::size_t s : situations) rows[s] = trial.Values(s, wanted);
  return rows;
}

ValueRows Nuisances::CloseBy(const ValueRows& rows, std::span<const Fault> faults,
                             std::span<const std::size_t> situations) const {
  ValueRows close(facts_.situations());
  const std::vector<bool> none(predictor_.value_count(), false);
  Trial trial(predictor_, faults);
  for (const std::size_t s : situations) {
    close[s] = trial.Values(s, &none);
    for (std::size_t v = 0; v < std::min(close[s].size(), rows[s].size()); ++v) {
      if (trial.left_out()[v]) close[s][v] = rows[s][v];
    }
  }
  return close;
}

std::vector<Fault> Nuisances::WithSupply(std::span<const Fault> faults) const {
  const auto& supplies = predictor_.bench().supplies;
  if (supplies.empty()) return {faults.begin(), faults.end()};
  return Together(faults, {Make(fault::SupplyOff{kPushV}, supplies.front().name)});
}

// By how much a number moved; not where it changed its state on the way.
double Nuisances::Moved(const ValueRows& rows, const ValueRows& pushed, const Block& block) const {
  const ControllerValues &a = rows[block.situation], &b = pushed[block.situation];
  if (a.empty() || b.empty()) return 0;
  if (!a[block.value].is_value() || !b[block.value].is_value()) return 0;
  const int state = facts_.FaultOf(block.value);
  if (state >= 0 && !(Nth(a, state) == Nth(b, state))) {
    return 0;
  }
  return b[block.value].low() - a[block.value].low();
}

void Nuisances::SetSupply(const ValueRows& rows, const ValueRows& higher,
                          Sensitivities& columns) const {
  for (std::size_t b = 0; b < facts_.blocks().size(); ++b) {
    columns.First()[static_cast<Eigen::Index>(b)] =
        Moved(rows, higher, facts_.blocks()[b]) / supply_deviations_;
  }
}

void Nuisances::SetShift(const ValueRows& rows, Sensitivities& columns) const {
  for (std::size_t b = 0; b < facts_.blocks().size(); ++b) {
    columns.Last()[static_cast<Eigen::Index>(b)] =
        kShiftShare * Moved(predictor_.healthy_values(), rows, facts_.blocks()[b]);
  }
}

void Nuisances::FixedColumns(const ValueRows& rows, Eigen::MatrixXd& columns) const {
  const auto& triggers = predictor_.bench().controller->triggers;
  const auto cams = static_cast<Eigen::Index>(triggers.size());
  const Eigen::Index divider = count() - cams - 2;
  for (std::size_t b = 0; b < facts_.blocks().size(); ++b) {
    const Block& block = facts_.blocks()[b];
    const auto row = static_cast<Eigen::Index>(b);
    const ControllerValues& at = rows[block.situation];
    const std::string& name = facts_.NameOf(block.value);
    if (name == "supply_voltage" && !at.empty()) {
      columns(row, divider) = kDividerShare * at[block.value].low();
    }
    for (std::size_t t = 0; t < triggers.size(); ++t) {
      if (name != "cam_angle." + triggers[t].name) continue;
      columns(row, divider + 1 + static_cast<Eigen::Index>(t)) = kCamDeg;
    }
  }
}

Sensitivities Nuisances::Columns(std::span<const Fault> faults, const ValueRows& rows) const {
  const auto& blocks = facts_.blocks();
  const profile::Bench& bench = predictor_.bench();
  Eigen::MatrixXd columns =
      Eigen::MatrixXd::Zero(static_cast<Eigen::Index>(blocks.size()), count());
  std::vector<std::size_t> situations;
  for (const Block& block : blocks) situations.push_back(block.situation);
  std::sort(situations.begin(), situations.end());
  situations.erase(std::unique(situations.begin(), situations.end()), situations.end());
  Eigen::Index column = 1;
  for (const Push& push : pushes_) {
    const ValueRows up = CloseBy(rows, Together(faults, push.up), situations);
    const ValueRows down = CloseBy(rows, Together(faults, push.down), situations);
    for (std::size_t b = 0; b < blocks.size(); ++b) {
      const double more = Moved(rows, up, blocks[b]), less = -Moved(rows, down, blocks[b]);
      const double off = (std::abs(more) > std::abs(less) ? more : less) / push.deviations;
      const auto row = static_cast<Eigen::Index>(b);
      columns(row, column) = off;
      if (push.sensor < 0) continue;
      const profile::Sensor& sensor = Nth(bench.sensors, push.sensor);
      const auto& stimulus = Nth(bench.stimuli, sensor.stimulus);
      const double low = std::max(sensor.min, stimulus.min), span = SpanOf(bench, sensor);
      const double at = Nth(predictor_.situations()[blocks[b].situation].stimuli, sensor.stimulus);
      columns(row, column + 1) = span > 0 ? off * ((at - low) / span - 0.5) * 2 : 0;
    }
    column += push.sensor < 0 ? 1 : 2;
  }
  FixedColumns(rows, columns);
  for (std::size_t b = 0; b < blocks.size(); ++b) {
    auto row = columns.row(static_cast<Eigen::Index>(b));
    row = (row.array().abs() < kNegligible * blocks[b].common).select(0, row);
  }
  Sensitivities all(columns);
  if (!bench.supplies.empty()) {
    SetSupply(rows, CloseBy(rows, WithSupply(faults), situations), all);
  }
  SetShift(rows, all);
  return all;
}

}  // namespace drycrank::diagnose
