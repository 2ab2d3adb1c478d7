// SPDX-License-Identifier: Apache-2.0
#include "proofread/proofread.h"

#include <utility>

#include "profile/load.h"
#include "proofread/bus_problems.h"
#include "proofread/heard.h"
#include "proofread/power_problems.h"
#include "proofread/recording_problems.h"
#include "proofread/told.h"

namespace drycrank::proofread {
namespace {

Proof ProofreadScenario(const std::string& path) {
  profile::LoadedScenario loaded = profile::LoadScenario(path);
  if (!loaded.scenario) return {std::move(loaded.problems), {}, {}, {}};
  return {RecordingProblems(*loaded.bench, *loaded.scenario), {}, {}, {}};
}

Proof ProofreadBench(const std::string& path) {
  profile::LoadedBench loaded = profile::LoadBench(path);
  if (!loaded.bench) return {std::move(loaded.problems), {}, {}, {}};
  Proof proof;
  proof.timing = bus::PeriodicTimingOf(*loaded.bench);
  Compared compared = CompareTold(*loaded.bench);
  proof.problems = std::move(compared.disagreements);
  proof.not_compared = std::move(compared.not_compared);
  proof.facts = std::move(compared.facts);
  const Diagnostics events = NotCounted(*loaded.bench, proof.timing);
  proof.not_compared.insert(proof.not_compared.end(), events.begin(), events.end());
  const Diagnostics late = BusProblems(*loaded.bench, proof.timing);
  proof.problems.insert(proof.problems.end(), late.begin(), late.end());
  const Diagnostics silent = NotHeard(*loaded.bench);
  proof.problems.insert(proof.problems.end(), silent.begin(), silent.end());
  const Diagnostics power = PowerProblems(*loaded.bench);
  proof.problems.insert(proof.problems.end(), power.begin(), power.end());
  proof.bench = std::move(loaded.bench);
  return proof;
}

}  // namespace

Proof ProofreadFile(const std::string& path) {
  return profile::KindOfFile(path) == "scenario" ? ProofreadScenario(path) : ProofreadBench(path);
}

}  // namespace drycrank::proofread
