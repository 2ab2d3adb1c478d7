// SPDX-License-Identifier: Apache-2.0
//
// The questions of a person's sweep on the terminal, while the values go out on the bus.
#ifndef DRYCRANK_TOOLS_ASK_PERSON_H_
#define DRYCRANK_TOOLS_ASK_PERSON_H_

#include <vector>

#include "sweep/person.h"
#include "tools/echo_screen.h"

namespace drycrank::tools {

// An empty line is no answer; the end of input, or a stop signal, leaves the rest unanswered.
std::vector<sweep::Reading> AskPerson(const profile::Bench& bench,
                                      const std::vector<profile::Readout>& readouts,
                                      EchoScreen& screen);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_ASK_PERSON_H_
