// SPDX-License-Identifier: Apache-2.0
#include "tests/study/cut_trials.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <stdexcept>
#include <utility>

#include "profile/load.h"
#include "study/circuits_shown.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::study {

using check::CircuitState;

profile::Bench LoadText(const std::string& yaml, bool as_drawn) {
  const ScratchFolder folder;
  const std::string path = folder.Path("bench.yaml");
  std::ofstream(path) << yaml;
  auto loaded = as_drawn ? profile::LoadBenchAsDrawn(path) : profile::LoadBench(path);
  for (const Diagnostic& problem : loaded.problems) ADD_FAILURE() << Format(problem);
  if (!loaded.bench) throw std::runtime_error("a bench that does not load:\n" + yaml);
  return std::move(*loaded.bench);
}

std::string Tally::Words() const {
  return fmt::format(
      "{} benches, {} circuits: {} of {} provable ones proven ({:.2f} %), {} others; {} cuts, of "
      "which {} left a cut circuit proven; {} of {} noticed ones failed ({:.1f} %)",
      benches, circuits, provable_proven, provable, 100.0 * provable_proven / provable,
      proven_unprovable, cuts, cut_proven, noticed_failed, noticed,
      100.0 * noticed_failed / noticed);
}

// The world of nodes has no crank: what is asked in degrees is no evidence of a circuit either.
static walk::Walk WithoutDegrees(walk::Walk walk) {
  std::erase_if(walk.scenario.expectations, [](const profile::Expectation& e) {
    return std::holds_alternative<profile::expect::FiresAt>(e.kind) ||
           std::holds_alternative<profile::expect::InjectsAt>(e.kind) ||
           std::holds_alternative<profile::expect::CamEdges>(e.kind);
  });
  return walk;
}

CutTrials::CutTrials(std::string name, profile::Bench bench)
    : name_(std::move(name)),
      bench_(std::move(bench)),
      walk_(WithoutDegrees(walk::MakeWalk(bench_))),
      world_(bench_, walk_.scenario) {
  for (std::size_t w = 0; w < bench_.wires.size(); ++w) {
    const profile::Wire& wire = bench_.wires[w];
    if (!wire.fitted) continue;
    wires_of_[wire.circuit].insert(static_cast<int>(w));
    for (const std::string& end : {wire.from, wire.to}) {
      if (end.find('.') != std::string::npos) wires_at_[end].insert(static_cast<int>(w));
    }
  }
}

void CutTrials::Run(Tally& tally) {
  ++tally.benches;
  RunHealthy(tally);
  for (const auto& [circuit, wires] : wires_of_) {
    const Outcome outcome = RunCut({wires, {}}, {circuit}, tally);
    if (outcome.noticed) ++tally.noticed;
    if (outcome.noticed && outcome.failed) ++tally.noticed_failed;
    if (wires.size() < 2) continue;
    for (const int wire : wires) RunCut({{wire}, {}}, {circuit}, tally);
  }
  for (const auto& [contact, wires] : wires_at_) {
    if (wires.size() < 2) continue;
    std::set<std::string> circuits;
    for (const int wire : wires) circuits.insert(CircuitOf(wire));
    RunCut({{}, {contact}}, circuits, tally);
  }
}

std::set<std::string> CutTrials::Proven() const {
  std::set<std::string> proven;
  for (const auto& [circuit, evidence] : EvidenceIn({})) {
    if (evidence.state == CircuitState::kProven) proven.insert(circuit);
  }
  return proven;
}

CutTrials::Evidence CutTrials::EvidenceIn(const Cut& cut) const {
  Evidence by_name;
  const auto verdicts = world_.Verdicts(cut);
  for (auto& circuit : EvidenceOf({bench_, walk_.scenario, verdicts, world_.steps()})) {
    by_name[circuit.circuit] = std::move(circuit);
  }
  return by_name;
}

const std::string& CutTrials::CircuitOf(int wire) const {
  return bench_.wires[static_cast<std::size_t>(wire)].circuit;
}

bool CutTrials::IsProvable(const std::string& circuit) const {
  const auto noticed = [&](int wire) { return IsNoticed({{wire}, {}}); };
  if (!std::ranges::all_of(wires_of_.at(circuit), noticed)) return false;
  return std::ranges::all_of(wires_at_, [&](const auto& contact) {
    const auto& [terminal, ends] = contact;
    const auto here = [&](int wire) { return CircuitOf(wire) == circuit; };
    return ends.size() < 2 || std::ranges::none_of(ends, here) || IsNoticed({{}, {terminal}});
  });
}

void CutTrials::RunHealthy(Tally& tally) const {
  for (const check::Verdict& verdict : world_.Verdicts({})) {
    const auto e = static_cast<std::size_t>(verdict.expectation);
    EXPECT_EQ(verdict.outcome, check::Outcome::kMet)
        << name_ << ": " << walk_.scenario.expectations[e].name << " by " << verdict.margin;
  }
  for (const auto& [circuit, evidence] : EvidenceIn({})) {
    if (!wires_of_.contains(circuit)) continue;  // on paper only
    ++tally.circuits;
    const bool proven = evidence.state == CircuitState::kProven;
    const bool provable = IsProvable(circuit);
    if (provable) ++tally.provable;
    if (provable && proven) ++tally.provable_proven;
    if (provable && !proven) fmt::print("{}: {} is not shown: {}\n", name_, circuit, evidence.why);
    if (!provable && proven) ++tally.proven_unprovable;
    EXPECT_FALSE(!provable && proven) << name_ << ": " << circuit << " can be cut unnoticed";
  }
}

CutTrials::Outcome CutTrials::RunCut(const Cut& cut, const std::set<std::string>& circuits,
                                     Tally& tally) const {
  ++tally.cuts;
  Outcome outcome{IsNoticed(cut), false};
  const Evidence evidence = EvidenceIn(cut);
  for (const std::string& circuit : circuits) {
    const CircuitState state = evidence.at(circuit).state;
    outcome.failed = outcome.failed || state == CircuitState::kFailed;
    if (state == CircuitState::kProven) ++tally.cut_proven;
    EXPECT_NE(state, CircuitState::kProven) << name_ << ": " << circuit << " was cut";
  }
  return outcome;
}

}  // namespace drycrank::study
