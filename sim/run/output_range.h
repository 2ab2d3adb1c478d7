// SPDX-License-Identifier: Apache-2.0
//
// What a channel that goes by steps (output/steps.h) gives of what a scenario asks it for: known when the
// output is open, and said before it is armed.
#ifndef DRYCRANK_RUN_OUTPUT_RANGE_H_
#define DRYCRANK_RUN_OUTPUT_RANGE_H_

#include <string>
#include <vector>

#include "output/output.h"
#include "profile/bench.h"
#include "profile/output_device.h"
#include "profile/scenario_file.h"
#include "types/diagnostic.h"

namespace drycrank::run {

// Values that it will be asked for and does not reach, each with the place of its channel.
// REQUIRES: `opened` is that device; OutputProblems is empty. Before it is open only what it knows by the
// bench counts.
Diagnostics RangeProblems(const profile::Bench& bench, const profile::Scenario& scenario,
                          const profile::OutputDevice& device, const output::Output& opened);

// One for each channel, in their order: "sensor 'coolant' between 40 and 60 °C: steps of 0.8 °C, 0.4 °C
// off at most (it gives 0 to 6e+04 Ω; safe: 6e+04 Ω)"; "supply 'battery' (12.5 V, 2 A at most; safe: off)"; "trigger 'crank' by output 1, up to 5 V (safe: silent)" of a sound card.
std::vector<std::string> ChannelsInWords(const profile::Bench& bench,
                                         const profile::Scenario& scenario,
                                         const profile::OutputDevice& device,
                                         const output::Output& opened);

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_OUTPUT_RANGE_H_
