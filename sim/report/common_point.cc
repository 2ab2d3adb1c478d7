// SPDX-License-Identifier: Apache-2.0
#include "report/common_point.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "report/summary.h"

namespace drycrank::report {
namespace {

constexpr std::size_t kFewest = 3;

std::set<std::string> CircuitsAt(const profile::Bench& bench, const std::string& splice) {
  std::set<std::string> circuits;
  for (const profile::Wire& wire : bench.wires) {
    if (wire.from == splice || wire.to == splice) circuits.insert(wire.circuit);
  }
  return circuits;
}

bool IsProven(const Report& report, const std::string& circuit) {
  return std::ranges::any_of(report.coverage, [&](const check::CircuitCoverage& c) {
    return c.circuit == circuit && c.state == check::CircuitState::kProven;
  });
}

// Failures that concern one of these circuits.
std::size_t FailuresAt(const Report& report, const std::set<std::string>& circuits) {
  std::set<int> concerned;
  for (const check::CircuitCoverage& c : report.coverage) {
    if (circuits.contains(c.circuit)) concerned.insert(c.concerned.begin(), c.concerned.end());
  }
  return static_cast<std::size_t>(std::ranges::count_if(report.verdicts, [&](const auto& v) {
    const bool failed =
        v.outcome == check::Outcome::kFailed || v.outcome == check::Outcome::kNotObserved;
    return failed && concerned.contains(v.expectation);
  }));
}

bool IsFeed(const profile::Controller& controller, const std::string& terminal) {
  return std::ranges::count(controller.sensor_grounds, terminal) > 0 ||
         std::ranges::count(controller.references, terminal, &profile::ReferenceOutput::terminal) >
             0;
}

}  // namespace

std::optional<CommonPoint> CommonPointOf(const Report& report) {
  const profile::Bench& bench = *report.bench;
  CommonPoint best;
  for (const std::string& splice : bench.splices) {
    const std::set<std::string> circuits = CircuitsAt(bench, splice);
    const auto proven = [&](const std::string& circuit) { return IsProven(report, circuit); };
    if (circuits.size() < kFewest || std::ranges::any_of(circuits, proven)) continue;
    const std::size_t failures = FailuresAt(report, circuits);
    if (failures >= kFewest && failures > best.failures) best = {splice, failures, {}};
  }
  if (best.failures == 0) return std::nullopt;
  for (const profile::Wire& wire : bench.wires) {
    if (!bench.controller || (wire.from != best.splice && wire.to != best.splice)) continue;
    const std::string& other = wire.from == best.splice ? wire.to : wire.from;
    if (IsFeed(*bench.controller, other)) best.feeds.push_back(wire.circuit);
  }
  return best;
}

std::string CommonPointInWords(const Report& report, const CommonPoint& point) {
  const Counts n = Count(report);
  return fmt::format(
      "{} of the {} failures have one point in common: {}. Nothing that meets there is proven: "
      "look "
      "there first.",
      point.failures, n.failed + n.not_observed, point.splice);
}

}  // namespace drycrank::report
