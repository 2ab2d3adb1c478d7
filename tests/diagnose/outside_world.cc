// SPDX-License-Identifier: Apache-2.0
#include "tests/diagnose/outside_world.h"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <limits>
#include <stdexcept>
#include <utility>

#include "profile/load.h"
#include "tests/support/drawn_parts.h"
#include "tests/support/random_bench.h"
#include "tests/support/scratch_folder.h"
#include "walk/walk.h"

namespace drycrank::diagnose {
namespace {

constexpr double kNoiseV = 1.2e-3, kSupplyV = 0.4, kSupplyLimitV = 1;
constexpr double kSupplyReadingClass = 0.01;
constexpr double kOfShift = 0.004;
constexpr double kApart = 6;
constexpr double kFuseA = 30;  // of a sensor's or controller's circuit: common practice, no source
constexpr double kRestS = 0.9;
constexpr double kNan = std::numeric_limits<double>::quiet_NaN();

double AtNan(double value) { return std::isnan(value) ? 0 : value; }

support::Volts WithNoise(support::Volts volts, Random& noise) {
  volts.supply_v += kNoiseV * noise.Gauss();
  for (double& volt : volts.input_v) volt += kNoiseV * noise.Gauss();
  return volts;
}

}  // namespace

profile::Bench DrawnBench(std::uint64_t seed, With with) {
  const support::RandomBench drawn = support::DrawBench(seed);
  const ScratchFolder folder;
  const std::string path = folder.Path("bench.yaml");
  std::ofstream(path) << (with == With::kParts ? support::WithParts(drawn.yaml, seed) : drawn.yaml);
  auto loaded = drawn.crimped_together ? profile::LoadBenchAsDrawn(path) : profile::LoadBench(path);
  if (loaded.bench && loaded.problems.empty()) return std::move(*loaded.bench);
  std::string problems;
  for (const Diagnostic& problem : loaded.problems) problems += Format(problem) + "\n";
  throw std::runtime_error(problems);
}

PredictedRows AsPredicted(const Observation& observation) {
  PredictedRows rows;
  for (const Values& values : observation) {
    Predictions& row = rows.emplace_back();
    for (const double value : values) {
      row.push_back(std::isnan(value) ? Prediction::None() : Prediction::Value(value));
    }
  }
  return rows;
}

bool Agree(const std::vector<Reading>& readings, const CleanRows& truth,
           const PredictedRows& predicted) {
  // (d, w) of each reading in each step, in deviations.
  std::vector<std::vector<std::pair<double, double>>> apart(readings.size());
  for (std::size_t s = 0; s < truth.value.size(); ++s) {
    for (std::size_t r = 0; r < readings.size(); ++r) {
      const double clean = truth.value[s][r];
      const Prediction& said = predicted[s][r];
      if (std::isinf(truth.noise[s][r])) continue;
      if (std::isnan(clean) != said.is_none()) return false;
      if (std::isnan(clean)) continue;
      if (readings[r].discrete) {
        if (said.Distance(clean) != 0) return false;
        continue;
      }
      const double d = clean < said.low() ? said.low() - clean : -said.Distance(clean);
      apart[r].emplace_back(d / truth.noise[s][r], truth.per_volt[s][r] / truth.noise[s][r]);
    }
  }
  for (double supply_v = -kSupplyLimitV; supply_v <= kSupplyLimitV; supply_v += 0.02) {
    double sum = std::pow(supply_v / kSupplyV, 2);
    for (const auto& reading : apart) {
      double most = 0;
      for (const auto& [d, w] : reading) most = std::max(most, std::pow(d - supply_v * w, 2));
      sum += most;
    }
    if (sum < kApart) return true;
  }
  return false;
}

OutsideWorld::OutsideWorld(const profile::Bench& bench)
    : bench_(bench), readings_(ReadingsOf(bench)) {
  std::vector<double> now = RestOf(bench).stimuli;
  for (const profile::Step& step : walk::MakeWalk(bench).scenario.steps) {
    for (const profile::Drive& drive : step.drives) {
      if (drive.kind != profile::DriveKind::kHold) throw std::logic_error("a drive that moves");
      now[static_cast<std::size_t>(drive.stimulus)] = drive.to;
    }
    if (step.for_s >= kRestS) situations_.push_back({step.name, now});
  }
  healthy_ = Clean({});
}

support::Volts OutsideWorld::VoltsIn(std::size_t step, const Truth& truth,
                                     support::Departure& departure, support::SolvedBy by) const {
  for (const Deviation& deviation : truth.deviations) deviation.put_in(departure, step);
  return support::VoltsOf(bench_, departure, situations_[step].stimuli, false, by);
}

Values OutsideWorld::RowOf(const support::Departure& departure, const support::Volts& volts) const {
  const support::ControllerReports reports = support::ReportsAt(bench_, departure, volts);
  Values row;
  for (const Reading& reading : readings_) {
    const auto& at = reading.signal;
    const std::string& message = profile::MessageAt(bench_, {at.bus, at.message}).name;
    const auto value = support::Received(bench_, at, reports);
    row.push_back(value && !departure.missing_messages.contains(message) ? *value : kNan);
  }
  return row;
}

Observation OutsideWorld::Observe(const Truth& truth, const support::Departure& tolerances,
                                  Random& noise, support::SolvedBy by) const {
  Observation observed;
  for (std::size_t s = 0; s < situations_.size(); ++s) {
    support::Departure departure = tolerances;
    const support::Volts volts = VoltsIn(s, truth, departure, by);
    observed.push_back(RowOf(departure, WithNoise(volts, noise)));
  }
  return observed;
}

bool OutsideWorld::BlowsAFuse(const Truth& truth) const {
  for (std::size_t s = 0; s < situations_.size(); ++s) {
    support::Departure departure;
    const auto volts = VoltsIn(s, truth, departure, support::SolvedBy::kGauss);
    if (volts.most_bridge_a > kFuseA) return true;
  }
  return false;
}

// Deviation, in the reading's unit.
double OutsideWorld::ClassOf(const Reading& reading) const {
  if (reading.carries == "supply_voltage") {
    return kSupplyReadingClass * bench_.supplies[0].voltage_v / std::sqrt(3.0);
  }
  for (const profile::AnalogChannel& channel : bench_.controller->analog) {
    if (channel.name != reading.carries) continue;
    const auto [low, high] =
        std::ranges::minmax(channel.value_at_volts, {}, [](const auto& row) { return row.second; });
    return kSensorClass * (high.second - low.second) / std::sqrt(3.0);
  }
  return 0;
}

void OutsideWorld::AddNoise(CleanRows& rows, std::size_t s, const Values& at_more_v) const {
  Values& noise = rows.noise.emplace_back();
  for (std::size_t r = 0; r < readings_.size(); ++r) {
    const profile::Signal& signal = profile::SignalAt(bench_, readings_[r].signal);
    const double step = signal.is_float ? 0 : std::abs(signal.scale) / 2;
    const double clean = rows.value[s][r];
    const double shift =
        healthy_.value.empty() ? 0 : kOfShift * AtNan(clean - healthy_.value[s][r]);
    const double input = std::abs(AtNan(at_more_v[r] - clean));
    noise.push_back(std::hypot(std::hypot(ClassOf(readings_[r]), step), shift,
                               input < 20 * ClassOf(readings_[r]) ? input : 0));
  }
}

CleanRows OutsideWorld::Clean(const Truth& truth) const {
  CleanRows rows;
  for (std::size_t s = 0; s < situations_.size(); ++s) {
    support::Departure departure;
    support::Volts volts = VoltsIn(s, truth, departure, support::SolvedBy::kGauss);
    const Values& row = rows.value.emplace_back(RowOf(departure, volts));
    for (double& volt : volts.input_v) volt += kNoiseV;
    AddNoise(rows, s, RowOf(departure, volts));
    support::Departure higher;
    higher.supply_more_v = 0.25;
    const support::Volts more = VoltsIn(s, truth, higher, support::SolvedBy::kGauss);
    const Values raised = RowOf(higher, more);
    Values& per_volt = rows.per_volt.emplace_back();
    for (std::size_t r = 0; r < row.size(); ++r) {
      per_volt.push_back(readings_[r].discrete ? 0 : AtNan(raised[r] - row[r]) / 0.25);
    }
  }
  return rows;
}

}  // namespace drycrank::diagnose
