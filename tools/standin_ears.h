// SPDX-License-Identifier: Apache-2.0
//
// What the command line says of a stand-in's inputs.
//
//   --at ECU.3=1:5        input ECU.3 is channel 1; 5 V at full scale (less than 0: the other way round)
//   --at ECU.7=2:-3:2.5   and 2.5 V where the channel is silent
//   --level ECU.20=1.8    input ECU.20 is at 1.8 V all the time
#ifndef DRYCRANK_TOOLS_STANDIN_EARS_H_
#define DRYCRANK_TOOLS_STANDIN_EARS_H_

#include <string>
#include <vector>

#include "profile/bench.h"
#include "run/heard_controller.h"

namespace drycrank::tools {

// Fills in ears and input_v. Empty, or what is wrong with the words.
std::string ReadEars(const profile::Bench& bench, const std::vector<std::string>& at,
                     const std::vector<std::string>& levels, run::Hearing& hearing);
// The highest channel, from 1 on.
int ChannelsNeeded(const run::Hearing& hearing);
// What each input hears, is told, or that it is open: one line each.
std::vector<std::string> InWords(const profile::Bench& bench,
                                 const std::vector<std::string>& levels,
                                 const run::Hearing& hearing);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_STANDIN_EARS_H_
