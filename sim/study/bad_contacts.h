// SPDX-License-Identifier: Apache-2.0
//
// What a resistance in a circuit would do: a bad contact of a shared ground or feed moves several readings
// a little, and fails some of them, where the same wire open would fail them all. Of each circuit that was
// shown, resistances of a grid are tried; one counts when it violates what failed, to the side to which it
// failed, and nothing that was met at the same time.
#ifndef DRYCRANK_STUDY_BAD_CONTACTS_H_
#define DRYCRANK_STUDY_BAD_CONTACTS_H_

#include <vector>

#include "check/coverage.h"
#include "study/accusation.h"
#include "study/failures.h"

namespace drycrank::study {

// To the charges: circuits in doubt, for what nobody is accused of; and where one bad contact would do
// what several devices are accused of, it is doubted in their place.
void AddBadContacts(const Accusation& all, const std::vector<Failure>& failures,
                    const std::vector<check::CircuitCoverage>& circuits, Charges& charges);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_BAD_CONTACTS_H_
