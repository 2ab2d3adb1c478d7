// SPDX-License-Identifier: Apache-2.0
//
// How often a scenario changes what an output is given, and what its line carries. Each change is an entry
// that is written and confirmed before the next:
//
//   request_ns   of one entry: two frames of the line, by its baud rate; or as measured when it was opened
//   a change     must stay for two of them: one for itself, one for what else is due
//   all of them  may take half of the line; the other half is that of heartbeats, speeds and cams
#ifndef DRYCRANK_RUN_OUTPUT_RATE_H_
#define DRYCRANK_RUN_OUTPUT_RATE_H_

#include <cstddef>
#include <string>

#include "profile/bench.h"
#include "profile/output_device.h"
#include "profile/scenario_file.h"
#include "types/diagnostic.h"
#include "types/time.h"

namespace drycrank::run {

// By the file alone; 0: it has no line that is slow.
TimeNs RequestNsOf(const profile::OutputDevice& device);

// Faults and speeds that come and go faster than that, each at its place in the scenario. `why`: where the
// time is from: "at 115200 baud".
Diagnostics RateProblems(const profile::Scenario& scenario, const profile::OutputDevice& device,
                         TimeNs request_ns, const std::string& why);
// The same, by the file.
Diagnostics RateProblems(const profile::Scenario& scenario, const profile::OutputDevice& device);

// Room for all that a second gives, at the scenario's highest speed: so long may its thread stand still.
std::size_t RoomOf(const profile::Bench& bench, const profile::Scenario& scenario,
                   const profile::OutputDevice& device);

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_OUTPUT_RATE_H_
