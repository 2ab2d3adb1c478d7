// SPDX-License-Identifier: Apache-2.0
//
// Which circuits the bench's outputs (section `drives`) send something along, at a real controller: those
// at the leads by which a driven pickup gives its signal. Both of a coil; the signal of a Hall sensor, but
// neither its supply nor its ground, of which an output takes nothing.
//
// A circuit counts when all its places do, and each of them has driven pickups alone behind it: of a shared
// ground the sensors that nothing drives would say whatever they are at.
#ifndef DRYCRANK_STUDY_DRIVEN_CIRCUITS_H_
#define DRYCRANK_STUDY_DRIVEN_CIRCUITS_H_

#include <string>
#include <vector>

#include "profile/bench.h"
#include "study/breaks.h"

namespace drycrank::study {

// Indices into CircuitNames.
std::vector<int> DrivenCircuits(const profile::Bench& bench);
// Of BreaksOf, those in driven circuits alone.
std::vector<Break> DrivenBreaks(const profile::Bench& bench);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_DRIVEN_CIRCUITS_H_
