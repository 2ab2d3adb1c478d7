// SPDX-License-Identifier: Apache-2.0
#include "study/loads.h"

#include <algorithm>
#include <cmath>

#include "diagnose/electrical.h"
#include "study/breaks.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

constexpr double kClosedOhm = 0.05;  // of a driver transistor; common practice, no source
constexpr double kActsShare = 0.5;
constexpr double kNothingV = 0.5;  // with less a load acts under no circumstances

// The bench with the output closed.
profile::Bench Closed(const profile::Bench& bench, const profile::ControllerOutput& output) {
  profile::Bench closed = bench;
  const bool high = output.kind == profile::OutputKind::kHighSide;
  profile::Load& driver = closed.loads.emplace_back();
  driver.name = output.name + " closed";
  driver.plus = high ? bench.controller->supply : output.terminal;
  driver.minus = high ? output.terminal : bench.controller->ground;
  driver.ohm = kClosedOhm;
  return closed;
}

// At rest, but for what makes the output act: a start switch feeds the coil of its relay.
diagnose::Situation ActingOf(const profile::Bench& bench, const profile::ControllerOutput& output) {
  diagnose::Situation acting = diagnose::RestOf(bench);
  for (const auto& [stimulus, value] : output.driven_by) {
    if (stimulus != 0) Nth(acting.stimuli, stimulus) = value;  // the engine stands still
  }
  return acting;
}

double VoltsAt(const profile::Bench& closed, const profile::Load& load,
               const diagnose::Situation& situation, const std::vector<profile::Fault>& faults) {
  const auto harness = diagnose::HarnessIn(closed, situation, faults);
  return std::abs(harness.Voltage(load.plus) - harness.Voltage(load.minus));
}

}  // namespace

std::vector<std::string> CircuitsNeededBy(const profile::Bench& bench,
                                          const profile::ControllerOutput& output,
                                          const std::vector<std::string>& circuits) {
  const profile::Bench closed = Closed(bench, output);
  const profile::Load& load = Nth(bench.loads, output.load);
  const diagnose::Situation acting = ActingOf(bench, output);
  const double acts_v = kActsShare * VoltsAt(closed, load, acting, {});
  // By the drawing it cannot act: then nothing is said of any wire.
  if (!(acts_v >= kActsShare * kNothingV)) return {};
  const std::vector<std::string> names = CircuitNames(bench);
  std::vector<std::string> needed = circuits;
  const std::vector<Break> breaks = BreaksOf(bench);
  // What is on paper only is no part of the way.
  std::erase_if(needed, [&](const std::string& circuit) {
    return std::ranges::none_of(breaks, [&](const Break& broken) {
      return std::ranges::any_of(broken.circuits,
                                 [&](int c) { return Nth(names, c) == circuit; });
    });
  });
  for (const Break& broken : breaks) {
    const auto concerns = [&](int c) { return std::ranges::count(needed, Nth(names, c)) > 0; };
    if (!std::ranges::any_of(broken.circuits, concerns)) continue;
    if (VoltsAt(closed, load, acting, {broken.open}) < acts_v) continue;
    for (const int c : broken.circuits) std::erase(needed, Nth(names, c));
  }
  return needed;
}

}  // namespace drycrank::study
