// SPDX-License-Identifier: Apache-2.0
//
// Which circuits of a bus a person's word speaks for or against: each wire is opened in turn. A word
// that all is well proves a circuit when with any of its wires open it would have been another; one
// that something is wrong speaks against those of which an open wire gives just that.
#ifndef DRYCRANK_STUDY_BUS_SEEN_H_
#define DRYCRANK_STUDY_BUS_SEEN_H_

#include <functional>
#include <string>
#include <vector>

#include "profile/answers.h"
#include "profile/bench.h"
#include "walk/outputs.h"

namespace drycrank::study {

// Does each wire of the circuit that is there, open, tell so? A circuit of no such wire does not.
bool EachOpenTells(const profile::Bench& bench, const std::string& circuit,
                   const std::function<bool(const profile::Fault&)>& tells);
// By how the display looks.
std::vector<std::string> ShownByLook(const profile::Bench& bench,
                                     const std::vector<std::string>& circuits,
                                     profile::Answer answer);
// Proven by the ohms across the pair that were as they should be.
std::vector<std::string> ShownByOhms(const profile::Bench& bench,
                                     const walk::WalkQuestion& question);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_BUS_SEEN_H_
