// SPDX-License-Identifier: Apache-2.0
#include <algorithm>

#include "check/judge.h"
#include "types/nth.h"

namespace drycrank::check {
namespace {

std::vector<CircuitCoverage> CircuitsOf(const profile::Bench& bench) {
  std::vector<CircuitCoverage> circuits;
  for (const profile::Wire& wire : bench.wires) {
    const bool known = std::ranges::count(circuits, wire.circuit, &CircuitCoverage::circuit) > 0;
    if (!known) circuits.push_back({wire.circuit, false, {}, {}});
  }
  return circuits;
}

}  // namespace

std::vector<CircuitCoverage> CoverageOf(const profile::Bench& bench,
                                        const profile::Scenario& scenario,
                                        const std::vector<Verdict>& verdicts) {
  std::vector<CircuitCoverage> circuits = CircuitsOf(bench);
  for (CircuitCoverage& circuit : circuits) {
    for (const Verdict& verdict : verdicts) {
      const auto& expectation = Nth(scenario.expectations, verdict.expectation);
      if (std::ranges::count(expectation.proves, circuit.circuit) == 0) continue;
      circuit.by.push_back(verdict.expectation);
      if (verdict.outcome == Outcome::kMet) {
        circuit.met.push_back(verdict.expectation);
        continue;
      }
      if (verdict.outcome != Outcome::kNotObservable) circuit.failed.push_back(verdict.expectation);
    }
    circuit.proven = !circuit.by.empty() && circuit.met.size() == circuit.by.size();
  }
  return circuits;
}

}  // namespace drycrank::check
