// SPDX-License-Identifier: Apache-2.0
//
// Proofs that do not outlast a failure. A circuit was shown in its time; then something failed, and the
// circuit may have had a part in it by a contact that is bad or comes and goes:
//
//   open to it    its break would have made that fail, and nothing that was met at the same time
//                 speaks against it
//   by degrees    nobody is open to it, since a break would have made more fail; a resistance need not:
//                 then those are doubted whose break would have made it fail and least besides
//   for a while   what failed for a while only, or just before the end, and may be due to a circuit that
//                 is doubted, or to wires of several devices, accuses nobody
#ifndef DRYCRANK_STUDY_DOUBT_H_
#define DRYCRANK_STUDY_DOUBT_H_

#include <vector>

#include "check/coverage.h"
#include "profile/scenario_file.h"
#include "study/accusation.h"
#include "study/failures.h"

namespace drycrank::study {

struct Doubtful {
  const profile::Bench& bench;
  const profile::Scenario& scenario;
  const std::vector<Failure>& failures;
  const std::vector<Break>& breaks;
  const std::vector<Touch>& touches;  // per circuit
  const std::vector<check::CircuitCoverage>& circuits;
};

// To the charges: circuits in doubt; away from them: words that accuse without ground.
void AddDoubts(const Doubtful& all, Charges& charges);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_DOUBT_H_
