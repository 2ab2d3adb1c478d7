// SPDX-License-Identifier: Apache-2.0
#include "study/fired_readings.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <utility>

#include "types/angle.h"

namespace drycrank::study {
namespace {

constexpr int kFewest = 3;
constexpr double kSteady = 0.98;  // length of the mean vector; 1: all at one angle

struct Mean {
  int count = 0;
  double sine = 0, cosine = 0;  // sums

  bool IsSteady() const { return std::hypot(sine, cosine) >= kSteady * count; }
  double SpreadDeg(double cycle_deg) const {
    const double length = std::min(std::hypot(sine, cosine) / count, 1.0);
    return std::sqrt(-2 * std::log(length)) / (2 * std::numbers::pi) * cycle_deg;
  }
  double Deg(double cycle_deg) const {
    return WrapDeg(std::atan2(sine, cosine) / (2 * std::numbers::pi) * cycle_deg, cycle_deg);
  }
};

std::map<int, double>& OfKind(OutputKind kind, diagnose::FiredAt& fired) {
  if (kind == OutputKind::kInjector) return fired.injections_deg;
  return kind == OutputKind::kTrailingCoil ? fired.trailing_deg : fired.sparks_deg;
}

}  // namespace

void FiredReadings::OnOutput(const OutputEvent& event) {
  if (event.on || event.kind == OutputKind::kSwitch) return;
  const auto angle = crank_.AngleAt(event.t_ns);
  if (!angle) return;
  ended_.push_back({event.t_ns, event.kind, event.cylinder, angle->InCycle(cycle_deg_)});
}

diagnose::FiredAt FiredReadings::Since(TimeNs begin_ns) const {
  std::map<std::pair<OutputKind, int>, Mean> means;  // by what acts and cylinder
  for (const Ended& ended : ended_) {
    if (ended.t_ns < begin_ns) continue;
    Mean& mean = means[{ended.kind, ended.cylinder}];
    const double angle = ended.deg / cycle_deg_ * 2 * std::numbers::pi;
    ++mean.count;
    mean.sine += std::sin(angle);
    mean.cosine += std::cos(angle);
  }
  diagnose::FiredAt fired;
  for (const auto& [of, mean] : means) {
    const bool steady = mean.count >= kFewest && mean.IsSteady();
    fired.restless = fired.restless || !steady;
    if (!steady) continue;
    OfKind(of.first, fired)[of.second] = mean.Deg(cycle_deg_);
    const bool sparks = of.first != OutputKind::kInjector;
    if (sparks) fired.spread_deg = std::max(fired.spread_deg, mean.SpreadDeg(cycle_deg_));
  }
  return fired;
}

}  // namespace drycrank::study
