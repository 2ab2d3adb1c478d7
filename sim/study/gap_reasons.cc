// SPDX-License-Identifier: Apache-2.0
#include "study/gap_reasons.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <string>
#include <utility>

#include "report/text.h"
#include "study/run_facts.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

using check::CircuitCoverage;
using check::CircuitState;
using check::CircuitWord;
using check::Gap;
using check::Outcome;

using Reason = std::pair<Gap, std::string>;

bool IsOnPaper(const profile::Bench& bench, const std::string& circuit) {
  return std::ranges::none_of(bench.wires, [&](const profile::Wire& wire) {
    return wire.circuit == circuit && wire.fitted;
  });
}

// Splices and plugs at its wires.
std::set<std::string> PlacesOf(const profile::Bench& bench, const std::string& circuit) {
  std::set<std::string> places;
  for (const profile::Wire& wire : bench.wires) {
    if (wire.circuit != circuit) continue;
    places.insert(wire.from.substr(0, wire.from.find('.')));
    places.insert(wire.to.substr(0, wire.to.find('.')));
  }
  return places;
}

bool AreNeighbours(const profile::Bench& bench, const std::string& a, const std::string& b) {
  const std::set<std::string> others = PlacesOf(bench, b);
  return std::ranges::any_of(PlacesOf(bench, a),
                             [&](const std::string& place) { return others.contains(place); });
}

std::string OtherWaysOf(const profile::Bench& bench, const std::string& circuit,
                        const std::vector<const Break*>& unshown) {
  for (const Break* broken : unshown) {
    std::vector<std::string> ways = OtherWays(bench, *broken);
    std::erase(ways, circuit);
    if (!ways.empty()) return report::Join(ways);
  }
  return {};
}

bool IsExplained(const std::vector<CircuitCoverage>& circuits, int expectation) {
  return std::ranges::any_of(circuits, [&](const CircuitCoverage& c) {
    return std::ranges::count(c.against, expectation, &CircuitWord::expectation) > 0;
  });
}

Reason NotAsItWould(const Judged& judged, int expectation) {
  return {Gap::kOtherFault,
          fmt::format("{} failed, but not as a break or short of this would make it fail",
                      Nth(judged.scenario.expectations, expectation).name)};
}

Reason WhileFailed(const Judged& judged, const std::vector<CircuitCoverage>& circuits,
                   const CircuitCoverage& circuit, int expectation) {
  for (const CircuitCoverage& other : circuits) {
    if (other.state != CircuitState::kFailed) continue;
    const bool explains = std::ranges::any_of(other.against, [&](const CircuitWord& word) {
      return std::ranges::count(circuit.concerned, word.expectation) > 0;
    });
    if (explains || AreNeighbours(judged.bench, circuit.circuit, other.circuit)) {
      return {Gap::kRepairFirst, fmt::format("repair {} first", other.circuit)};
    }
  }
  return NotAsItWould(judged, expectation);
}

Reason WhyNot(const Judged& judged, const std::vector<CircuitCoverage>& circuits,
              const Unshown& unshown, bool always_faulty, const CircuitCoverage& circuit) {
  const profile::Bench& bench = judged.bench;
  if (IsOnPaper(bench, circuit.circuit)) return {Gap::kNotFitted, "the wire is on paper only"};
  if (!judged.IsDriven(circuit.circuit) || !bench.controller) {
    return {Gap::kNotDriven, "no output of the simulator reaches this wire; take the meter"};
  }
  if (const std::string other = OtherWaysOf(bench, circuit.circuit, unshown.breaks);
      !other.empty()) {
    return {
        Gap::kAnotherWay,
        fmt::format("carried by {} too, so that broken it moves nothing; take the meter", other)};
  }
  for (const int e : circuit.concerned) {
    const Outcome outcome = Nth(judged.verdicts, e).outcome;
    if (outcome == Outcome::kFailed || IsExplained(circuits, e)) {
      return WhileFailed(judged, circuits, circuit, e);
    }
    if (outcome != Outcome::kMet) {
      return {Gap::kNotObserved, Nth(judged.scenario.expectations, e).name + " was not observed"};
    }
  }
  if (!unshown.failed.empty()) return NotAsItWould(judged, *unshown.failed.begin());
  if (always_faulty) return {Gap::kFaultInForce, check::kPutIn};
  if (EndedEarly(judged.scenario, judged.steps)) {
    return {Gap::kNotObserved, "the run ended before its turn came"};
  }
  return {Gap::kNeedsMeter, "nothing that is expected here would notice it broken"};
}

}  // namespace

void ExplainGap(const Judged& judged, const std::vector<CircuitCoverage>& circuits,
                const Unshown& unshown, bool always_faulty, CircuitCoverage& circuit) {
  if (circuit.state != CircuitState::kNotShown || !circuit.why.empty()) return;
  Reason why = WhyNot(judged, circuits, unshown, always_faulty, circuit);
  const auto reason = judged.reasons.find(circuit.circuit);
  if (reason != judged.reasons.end()) {
    const Gap gap = reason->second.first;
    const bool asked = gap == Gap::kNotAsked && why.first == Gap::kNotDriven;
    if (gap == Gap::kNotFitted || asked || why.first == Gap::kNeedsMeter) why = reason->second;
  }
  circuit.gap = why.first;
  circuit.why = std::move(why.second);
}

}  // namespace drycrank::study
