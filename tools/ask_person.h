// SPDX-License-Identifier: Apache-2.0
//
// The questions of a person's sweep on the terminal, while the values go out on the bus.
#ifndef DRYCRANK_TOOLS_ASK_PERSON_H_
#define DRYCRANK_TOOLS_ASK_PERSON_H_

#include <string>
#include <vector>

#include "sweep/person.h"
#include "tools/echo_screen.h"
#include "tools/kept_readings.h"

namespace drycrank::tools {

// What is kept already is not asked again. An empty line is no answer; the end of input, or a stop
// signal, leaves the rest unanswered. Empty, or why an answer could not be kept.
[[nodiscard]] std::string AskPerson(const profile::Bench& bench,
                                    const std::vector<profile::Readout>& readouts,
                                    EchoScreen& screen, KeptReadings& kept);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_ASK_PERSON_H_
