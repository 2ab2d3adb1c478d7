// SPDX-License-Identifier: Apache-2.0
//
// Which circuits the failures speak against. Of each circuit that a failed expectation concerns, it is
// tried what would have been reported at the worst moment with one of its wires open, shorted to
// ground or shorted to supply; of circuits that carry the same, with all of them open:
//
//   as drawn    the healthy bench would report that too: no wire is at fault (a controller told wrong
//               in the file, a device wired where it cannot work)
//   explained   the report is what was predicted, there and in every other step in which it is not
//               what it should be; no expectation met in that moment would have been
//               violated, and few other failures would have been reported otherwise. What was wrong for
//               a while only may lie between what it should be and what was predicted.
//   accused     it explains a failure, and no other circuit explains that one and more besides: an
//               open 5 V feed that explains three failures clears the three wires behind it
//
// Where several failures each have a break of their own, and one circuit that nothing has shown concerns
// them all, that one is accused instead: a resistance in a shared ground. One that was shown is doubted,
// when failures of several quantities that no break explains all have to do with it, or as doubt.h says.
//
// A controller that has been told a wrong table, or a resistance in a contact, makes reports that
// neither an open wire nor a short makes: then no circuit is accused.
#ifndef DRYCRANK_STUDY_ACCUSATION_H_
#define DRYCRANK_STUDY_ACCUSATION_H_

#include <map>
#include <string>
#include <vector>

#include "check/checker.h"
#include "check/coverage.h"
#include "study/breaks.h"
#include "study/concern.h"
#include "study/counterfactual.h"
#include "study/failures.h"
#include "study/moments.h"
#include "study/requirements.h"

namespace drycrank::study {

struct Accusation {
  const profile::Bench& bench;
  const profile::Scenario& scenario;
  const std::vector<check::Verdict>& verdicts;
  const std::vector<Moment>& moments;
  const std::vector<Failure>& failures;
  const Requirements& requirements;
  const Concern& concern;
  Counterfactual& what_if;
  const std::vector<Break>& breaks;
  const std::vector<Touch>& touches;  // per circuit
};

struct Charges {
  std::map<int, std::vector<check::CircuitWord>> accused;  // by circuit: what speaks against it
  // By circuit, in words: what was taken for its proof is not, since it may have a part in a failure.
  std::map<int, std::string> doubted;
};

// `circuits`: as far as they have been weighed, with what concerns them.
Charges ChargesOf(const Accusation& all, const std::vector<check::CircuitCoverage>& circuits);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_ACCUSATION_H_
