// SPDX-License-Identifier: Apache-2.0
//
// A bench through all its cuts: what the evidence says (study/circuits_shown.h) of what the tests' own world
// reports (nodal_world.h). Cut in turn: each circuit, each wire of a circuit that has several, each
// contact in which several wires end. Expects, and counts, that
//
//   a cut circuit is never proven
//   of the healthy bench no circuit is proven that could be cut unnoticed
//
// A circuit is provable when each of its wires, and each crowded contact that it shares, violates
// something when it is cut alone.
#ifndef DRYCRANK_TESTS_STUDY_CUT_TRIALS_H_
#define DRYCRANK_TESTS_STUDY_CUT_TRIALS_H_

#include <map>
#include <set>
#include <string>
#include <string_view>

#include "check/coverage.h"
#include "profile/bench.h"
#include "tests/study/nodal_world.h"
#include "walk/walk.h"

namespace drycrank::study {

// `as_drawn`: contacts may have several wires, which a file that is run may not have.
profile::Bench LoadText(const std::string& yaml, bool as_drawn);

// Counts over all benches.
struct Tally {
  int benches = 0, circuits = 0;
  int provable = 0, provable_proven = 0;  // when healthy
  int proven_unprovable = 0;
  int cuts = 0, cut_proven = 0;         // circuits, single wires, contacts
  int noticed = 0, noticed_failed = 0;  // cut circuits that violate something

  std::string Words() const;
};

class CutTrials {
 public:
  CutTrials(std::string name, profile::Bench bench);

  void Run(Tally& tally);
  // Those proven in the healthy world.
  std::set<std::string> Proven() const;

 private:
  using Evidence = std::map<std::string, check::CircuitCoverage>;
  Evidence EvidenceIn(const Cut& cut) const;
  const std::string& CircuitOf(int wire) const;
  bool IsNoticed(const Cut& cut) const { return AnyViolated(world_.Verdicts(cut)); }
  bool IsProvable(const std::string& circuit) const;
  void RunHealthy(Tally& tally) const;
  // One of the circuits in the cut.
  struct Outcome {
    bool noticed = false;  // something is violated
    bool failed = false;   // says the evidence
  };
  Outcome RunCut(const Cut& cut, const std::set<std::string>& circuits, Tally& tally) const;

  const std::string name_;
  const profile::Bench bench_;
  const walk::Walk walk_;
  const NodalWorld world_;
  std::map<std::string, std::set<int>> wires_of_, wires_at_;  // by circuit, by terminal
};

}  // namespace drycrank::study

#endif  // DRYCRANK_TESTS_STUDY_CUT_TRIALS_H_
