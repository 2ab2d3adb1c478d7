// SPDX-License-Identifier: Apache-2.0
//
// Which circuits the failures speak against. Of each circuit that a failed expectation concerns, it is
// tried what would have been reported at the worst moment with one of its wires open, shorted to
// ground or shorted to supply:
//
//   explained   the report is what was predicted, there and in every other step in which it is not
//               what it should be; no expectation met in that moment would have been
//               violated, and few other failures would have been reported otherwise
//   accused     it explains a failure, and no other circuit explains that one and more besides: an
//               open 5 V feed that explains three failures clears the three wires behind it
//
// Where several failures each have a break of their own, and one circuit that nothing has shown concerns
// them all, that one is accused instead: a resistance in a shared ground.
//
// A controller that has been told a wrong table, or a resistance in a contact, makes reports that
// neither an open wire nor a short makes: then no circuit is accused.
#ifndef DRYCRANK_STUDY_ACCUSATION_H_
#define DRYCRANK_STUDY_ACCUSATION_H_

#include <map>
#include <vector>

#include "check/checker.h"
#include "check/coverage.h"
#include "study/breaks.h"
#include "study/counterfactual.h"
#include "study/moments.h"
#include "study/requirements.h"

namespace drycrank::study {

struct Accusation {
  const profile::Bench& bench;
  const profile::Scenario& scenario;
  const std::vector<check::Verdict>& verdicts;
  const std::vector<Moment>& moments;
  const Requirements& requirements;
  Counterfactual& what_if;
  const std::vector<Break>& breaks;
};

// The moments at which failures were worst, each once, at most so many.
std::vector<std::size_t> FailedMoments(const std::vector<check::Verdict>& verdicts,
                                       const std::vector<Moment>& moments,
                                       const Requirements& requirements, std::size_t most);

// Per accused circuit, what speaks against it. `circuits`: with what concerns them.
std::map<int, std::vector<check::CircuitWord>> AccusedBy(
    const Accusation& all, const std::vector<check::CircuitCoverage>& circuits);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_ACCUSATION_H_
