// SPDX-License-Identifier: Apache-2.0
#include "capture/wheel_pattern.h"

#include <algorithm>
#include <cmath>

#include "check/edge_places.h"
#include "profile/turning_wheel.h"
#include "types/angle.h"

namespace drycrank::capture {

double WheelPattern::DegOf(int number) const {
  const int turns = (number - (number % size() + size()) % size()) / size();
  return At(number).deg + turns * turn_deg;
}

double WheelPattern::LeastStepDeg() const {
  double least_deg = turn_deg;
  for (int i = 0; i < size(); ++i) least_deg = std::min(least_deg, DegOf(i + 1) - DegOf(i));
  return least_deg;
}

double WheelPattern::MostStepDeg() const {
  double most_deg = 0;
  for (int i = 0; i < size(); ++i) most_deg = std::max(most_deg, DegOf(i + 1) - DegOf(i));
  return most_deg;
}

WheelPattern PatternOf(const profile::Trigger& trigger, const profile::Engine& engine,
                       bool as_wave) {
  WheelPattern pattern;
  pattern.name = trigger.wheel.name;
  pattern.turn_deg = profile::TurningWheelOf(trigger, engine).turn_deg;
  pattern.both_edges = !as_wave;
  profile::Trigger as_seen = trigger;
  const bool is_coil = std::holds_alternative<profile::VariableReluctancePickup>(trigger.pickup);
  if (as_wave && !is_coil) as_seen.pickup = profile::VariableReluctancePickup{};
  if (!as_wave && is_coil) as_seen.pickup = profile::HallPickup{};
  for (const check::BuiltEdge& edge : check::BuiltEdges(as_seen, engine, false)) {
    if (edge.deg >= pattern.turn_deg || (as_wave && !edge.begin)) continue;
    pattern.marks.push_back({edge.deg, edge.high, edge.begin, edge.tooth});
  }
  return pattern;
}

WheelPattern PatternOf(profile::Trigger trigger, const profile::Wheel& wheel,
                       const profile::Engine& engine, bool as_wave) {
  trigger.wheel = wheel;
  return PatternOf(trigger, engine, as_wave);
}

WheelPattern Without(const WheelPattern& pattern, int tooth) {
  WheelPattern without = pattern;
  std::erase_if(without.marks, [tooth](const PatternMark& mark) { return mark.tooth == tooth; });
  return without;
}

double OpenDegOf(const WheelPattern& pattern) {
  constexpr double kSameDeg = 0.01;
  const auto same_after = [&](int by) {
    const double turned_deg = pattern.DegOf(by) - pattern.DegOf(0);
    for (int i = 0; i < pattern.size(); ++i) {
      const double off_deg = pattern.DegOf(i + by) - pattern.DegOf(i) - turned_deg;
      if (std::abs(off_deg) > kSameDeg || pattern.At(i + by).high != pattern.At(i).high)
        return false;
    }
    return true;
  };
  for (int by = 1; by < pattern.size(); ++by) {
    if (same_after(by)) return pattern.DegOf(by) - pattern.DegOf(0);
  }
  return pattern.turn_deg;
}

bool IsEven(const WheelPattern& pattern) {
  const int teeth = pattern.size() / (pattern.both_edges ? 2 : 1);
  return teeth > 1 && OpenDegOf(pattern) < 1.01 * pattern.turn_deg / teeth;
}

}  // namespace drycrank::capture
