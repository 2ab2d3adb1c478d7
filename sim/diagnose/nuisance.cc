// SPDX-License-Identifier: Apache-2.0
#include "diagnose/nuisance.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>
#include <numeric>
#include <variant>

#include "diagnose/used_range.h"
#include "profile/sensors.h"
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
constexpr double kNegligible = 1e-3;  // of what a block may be off by itself

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

// Its class is a share of all that it can measure. Of platinum that is the standard's whole table, -200 to
// 850 °C, of which a bench uses little; class B of IEC 60751, 0.3 °C + 0.005 |t|, grows with what is used.
UsedRange RangeOf(const profile::Bench& bench, const profile::Sensor& sensor) {
  const UsedRange whole{sensor.min, sensor.max};
  if (!std::holds_alternative<profile::PlatinumSensor>(sensor.model)) return whole;
  const UsedRange used = UsedRangeOf(bench, sensor);
  return used.span() > 0 ? used : whole;
}

std::vector<Fault> Together(std::span<const Fault> faults, const std::vector<Fault>& more) {
  std::vector<Fault> all(faults.begin(), faults.end());
  all.insert(all.end(), more.begin(), more.end());
  return all;
}

// Two values, or two bands, of which the ends move alike.
bool Compare(const Prediction& a, const Prediction& b) {
  const bool holds = a.is_value() || a.kind() == Prediction::Kind::kBand;
  return holds && a.kind() == b.kind();
}

}  // namespace

Nuisances::Nuisances(Predictor& predictor, const Facts& facts)
    : predictor_(predictor),
      facts_(facts),
      everywhere_(facts.situations()),
      blocks_in_(facts.situations()),
      least_common_(predictor.value_count(), std::numeric_limits<double>::infinity()) {
  std::iota(everywhere_.begin(), everywhere_.end(), std::size_t{0});
  for (std::size_t b = 0; b < facts.blocks().size(); ++b) {
    const Block& block = facts.blocks()[b];
    blocks_in_[block.situation].push_back(b);
    least_common_[block.value] = std::min(least_common_[block.value], block.common);
  }
  std::ranges::copy_if(everywhere_, std::back_inserter(with_blocks_),
                       [&](std::size_t s) { return !blocks_in_[s].empty(); });
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
    const double off = kShareOfSpan * RangeOf(bench, sensor).span();
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
  const ValueRows& healthy = predictor.healthy_values();
  for (const Push& push : pushes_) {
    Situations driven;
    std::ranges::copy_if(everywhere_, std::back_inserter(driven),
                         [&](std::size_t s) { return IsDriven(push, s); });
    std::vector<bool> moved(predictor.value_count(), false);
    if (push.sensor >= 0) AddMoved(healthy, PushedIn(push, {}, healthy, driven), moved);
    moves_.push_back(std::move(moved));
  }
  int column = 0;
  for (std::size_t p = 0; p < pushes_.size(); ++p) {
    pushes_[p].column = column;
    column += pushes_[p].sensor < 0 ? 1 : 2;
    AddPush(p, {}, healthy, on_healthy_.emplace_back());
  }
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
      if (trial.left_out()[v]) close[s].Set(v, rows[s][v]);
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
  if (!Compare(a[block.value], b[block.value])) return 0;
  const int state = facts_.FaultOf(block.value);
  if (state >= 0 && !(Nth(a, state) == Nth(b, state))) {
    return 0;
  }
  return b[block.value].low() - a[block.value].low();
}

void Nuisances::SetSupply(const ValueRows& rows, const ValueRows& higher,
                          Sensitivities& columns) const {
  columns.First().setZero();
  for (const std::size_t s : with_blocks_) {
    if (rows[s].empty() || higher[s].empty()) continue;
    for (const std::size_t b : blocks_in_[s]) {
      columns.First()[static_cast<Eigen::Index>(b)] =
          Moved(rows, higher, facts_.blocks()[b]) / supply_deviations_;
    }
  }
}

void Nuisances::SetShift(const ValueRows& rows, Sensitivities& columns) const {
  columns.Last().setZero();
  for (const std::size_t s : with_blocks_) {
    if (rows[s].empty()) continue;
    for (const std::size_t b : blocks_in_[s]) {
      columns.Last()[static_cast<Eigen::Index>(b)] =
          kShiftShare * Moved(predictor_.healthy_values(), rows, facts_.blocks()[b]);
    }
  }
}

Nuisances::Pushed Nuisances::PushedIn(const Push& push, std::span<const Fault> faults,
                                      const ValueRows& rows, const Situations& situations) const {
  return {CloseBy(rows, Together(faults, push.up), situations),
          CloseBy(rows, Together(faults, push.down), situations), situations};
}

// At rest, and where its stimulus is another than at rest.
bool Nuisances::IsDriven(const Push& push, std::size_t situation) const {
  if (push.sensor < 0 || situation == 0) return true;
  const int stimulus = Nth(predictor_.bench().sensors, push.sensor).stimulus;
  const auto& situations = predictor_.situations();
  return Nth(situations[situation].stimuli, stimulus) != Nth(situations[0].stimuli, stimulus);
}

bool Nuisances::IsMoved(const Prediction& then, const Prediction& now, std::size_t value) const {
  if (!Compare(now, then)) return !(now == then);
  return std::abs(now.low() - then.low()) > kNegligible * least_common_[value];
}

void Nuisances::AddMoved(const ValueRows& rows, const Pushed& pushed,
                         std::vector<bool>& moved) const {
  for (const std::size_t s : pushed.in) {
    for (const ValueRows* side : {&pushed.up, &pushed.down}) {
      const ControllerValues& now = (*side)[s];
      if (now.empty() || rows[s].empty()) continue;
      ControllerValues::WhereApart(rows[s], now, [&](std::size_t v) {
        if (IsMoved(rows[s][v], now[v], v)) moved[v] = true;
      });
    }
  }
}

Nuisances::Situations Nuisances::WhereMoved(const std::vector<bool>& moved,
                                            const Situations& but) const {
  Situations where;
  for (const std::size_t s : with_blocks_) {
    if (std::ranges::binary_search(but, s)) continue;
    const auto is_moved = [&](std::size_t b) { return moved[facts_.blocks()[b].value]; };
    if (std::ranges::any_of(blocks_in_[s], is_moved)) where.push_back(s);
  }
  return where;
}

// Not what is far below a block's own error.
void Nuisances::Add(std::size_t block, int column, double moved,
                    std::vector<Sensitivities::Triplet>& triplets) const {
  if (std::abs(moved) < kNegligible * facts_.blocks()[block].common || moved == 0) return;
  triplets.push_back({static_cast<Eigen::Index>(block), {column, moved}});
}

// Of a push, and of its sensor's gain.
void Nuisances::AddColumns(const Push& push, const Pushed& pushed, const ValueRows& rows,
                           int column, std::vector<Sensitivities::Triplet>& triplets) const {
  const profile::Bench& bench = predictor_.bench();
  for (const std::size_t s : pushed.in) {
    for (const std::size_t b : blocks_in_[s]) {
      const Block& block = facts_.blocks()[b];
      const double more = Moved(rows, pushed.up, block), less = -Moved(rows, pushed.down, block);
      const double off = (std::abs(more) > std::abs(less) ? more : less) / push.deviations;
      Add(b, column, off, triplets);
      if (push.sensor < 0) continue;
      const profile::Sensor& sensor = Nth(bench.sensors, push.sensor);
      const double at = Nth(predictor_.situations()[s].stimuli, sensor.stimulus);
      const UsedRange range = RangeOf(bench, sensor);
      const double share = (at - range.low) / range.span();
      if (range.span() > 0) Add(b, column + 1, off * (share - 0.5) * 2, triplets);
    }
  }
}

void Nuisances::AddFixed(const ValueRows& rows,
                         std::vector<Sensitivities::Triplet>& triplets) const {
  const auto& triggers = predictor_.bench().controller->triggers;
  const int divider = static_cast<int>(count()) - static_cast<int>(triggers.size()) - 3;
  for (std::size_t b = 0; b < facts_.blocks().size(); ++b) {
    const Block& block = facts_.blocks()[b];
    const ControllerValues& at = rows[block.situation];
    const std::string& name = facts_.NameOf(block.value);
    if (name == "supply_voltage" && !at.empty()) {
      Add(b, divider, kDividerShare * at[block.value].low(), triplets);
    }
    for (std::size_t t = 0; t < triggers.size(); ++t) {
      if (name != "cam_angle." + triggers[t].name) continue;
      Add(b, divider + 1 + static_cast<int>(t), kCamDeg, triplets);
    }
  }
}

// Where it is driven, and then what it was seen to move there.
void Nuisances::AddPush(std::size_t p, std::span<const Fault> faults, const ValueRows& rows,
                        std::vector<Sensitivities::Triplet>& triplets) const {
  const Push& push = pushes_[p];
  Situations driven;
  std::ranges::copy_if(with_blocks_, std::back_inserter(driven),
                       [&](std::size_t s) { return IsDriven(push, s); });
  const Pushed at_work = PushedIn(push, faults, rows, driven);
  std::vector<bool> moved = moves_[p];
  AddMoved(rows, at_work, moved);
  AddColumns(push, at_work, rows, push.column, triplets);
  const Situations others = WhereMoved(moved, driven);
  if (others.empty()) return;
  AddColumns(push, PushedIn(push, faults, rows, others), rows, push.column, triplets);
}

// Of the controller's values those that are not as on the healthy bench, in any situation.
std::vector<bool> Nuisances::MovedBy(const ValueRows& rows) const {
  std::vector<bool> moved(predictor_.value_count(), false);
  for (std::size_t s = 0; s < rows.size(); ++s) {
    const ControllerValues& healthy = predictor_.healthy_values()[s];
    if (rows[s].size() != healthy.size()) return std::vector<bool>(moved.size(), true);
    ControllerValues::WhereApart(rows[s], healthy, [&](std::size_t v) { moved[v] = true; });
  }
  return moved;
}

// What is no sensor may be moved by any fault.
bool Nuisances::IsTouched(std::size_t push, const std::vector<bool>& moved) const {
  if (pushes_[push].sensor < 0) return true;
  for (std::size_t v = 0; v < moved.size(); ++v) {
    if (moved[v] && moves_[push][v]) return true;
  }
  return false;
}

Sensitivities Nuisances::Columns(std::span<const Fault> faults, const ValueRows& rows) const {
  std::vector<Sensitivities::Triplet> triplets;
  const std::vector<bool> moved = MovedBy(rows);
  for (std::size_t p = 0; p < pushes_.size(); ++p) {
    if (IsTouched(p, moved)) {
      AddPush(p, faults, rows, triplets);
    } else {
      triplets.insert(triplets.end(), on_healthy_[p].begin(), on_healthy_[p].end());
    }
  }
  AddFixed(rows, triplets);
  Sensitivities all(static_cast<Eigen::Index>(facts_.blocks().size()), count() - 2, triplets);
  if (!predictor_.bench().supplies.empty()) {
    SetSupply(rows, CloseBy(rows, WithSupply(faults), with_blocks_), all);
  }
  SetShift(rows, all);
  return all;
}

}  // namespace drycrank::diagnose
