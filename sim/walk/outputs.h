// SPDX-License-Identifier: Apache-2.0
//
// The part of a walk that no sensor proves: what the controller switches. An output whose circuit
// shows on the bus has an expectation as all others have; for the others somebody must look, or a
// capture of its terminal must be there.
#ifndef DRYCRANK_WALK_OUTPUTS_H_
#define DRYCRANK_WALK_OUTPUTS_H_

#include <set>
#include <string>
#include <vector>

#include "profile/bench.h"
#include "profile/scenario_file.h"

namespace drycrank::walk {

// One thing to be looked at.
struct WalkQuestion {
  int output = -1;                    // index into controller.outputs; -1: about a bus
  std::string name;                   // what an answer calls it
  std::string title;                  // "Radiator fan, radiator_fan at ECU.40"
  std::vector<std::string> circuits;  // that a "yes" proves
  std::string text;                   // "Does the radiator fan turn?"
  std::string caution;                // what it does to fingers; empty: nothing
  std::string means;                  // of a no, about a bus
};

// The circuits from an output to its load and on to the supply, without those in `elsewhere`, which
// others prove.
std::vector<std::string> CircuitsOfOutput(const profile::Bench& bench,
                                          const profile::ControllerOutput& output,
                                          const std::set<std::string>& elsewhere);

// What the bus must show of an output whose witness it is; `during` is left to the walk.
std::vector<profile::Expectation> ExpectationsOf(const profile::Bench& bench,
                                                 const profile::ControllerOutput& output,
                                                 const std::set<std::string>& elsewhere);

// Outputs that are fitted and need a witness, in the order of the bench.
std::vector<WalkQuestion> QuestionsOf(const profile::Bench& bench,
                                      const std::set<std::string>& elsewhere);

// Makes the controller act for `for_s` seconds, by the stimuli of the output, then rests.
profile::Scenario DriveOf(const profile::Bench& bench, const profile::ControllerOutput& output,
                          double for_s);

}  // namespace drycrank::walk

#endif  // DRYCRANK_WALK_OUTPUTS_H_
