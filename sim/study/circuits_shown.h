// SPDX-License-Identifier: Apache-2.0
//
// Which circuits a run has shown, by counterfactual, from the bench as drawn (check/coverage.h):
//
//   each place where a circuit can break  x  each moment at rest
//     -> what would have been reported (counterfactual.h)
//     -> which expectations that would have violated, and by how much (requirements.h)
//   proven    every place of the circuit would have violated an expectation that was met
//   failed    what a failed expectation reported at its worst moment is what the circuit open, or
//             shorted to ground or supply, makes of it; nothing met in that moment speaks against
//             it; and no other circuit explains more of the failures
//   not shown the rest, with the reason
//
// The order saves work: one moment tells of most circuits; the others are asked only in the moments
// that drive their own devices; what turns is played last, for what nothing else has shown.
//
// What was judged while a fault of the scenario was in force proves nothing. A walk's own fault, put
// in for practice, is not known here: `faults_known` false.
#ifndef DRYCRANK_STUDY_CIRCUITS_SHOWN_H_
#define DRYCRANK_STUDY_CIRCUITS_SHOWN_H_

#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "check/checker.h"
#include "check/coverage.h"
#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "report/report.h"

namespace drycrank::study {

struct Judged {
  const profile::Bench& bench;
  const profile::Scenario& scenario;
  const std::vector<check::Verdict>& verdicts;
  const std::vector<report::StepTime>& steps;
  bool controller_real = false;  // then only what outputs drive is shown by a value
  bool faults_known = true;
  // Why a circuit is not shown, where a walk knows better than this does.
  std::map<std::string, std::pair<check::Gap, std::string>> reasons = {};
  // When the controller sent nothing at all; nothing: that is not known.
  std::optional<std::vector<check::QuietStretch>> quiet = {};
  // Of a real controller's circuits those that outputs have driven; no other one is weighed.
  std::set<std::string> driven = {};
  bool IsDriven(const std::string& circuit) const {
    return !controller_real || driven.contains(circuit);
  }
};

// Every circuit of the bench, in the order of its wires.
std::vector<check::CircuitCoverage> EvidenceOf(const Judged& judged);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_CIRCUITS_SHOWN_H_
