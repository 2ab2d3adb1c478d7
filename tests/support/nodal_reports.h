// SPDX-License-Identifier: Apache-2.0
//
// From the volts of nodal_network.h to what the controller reports, by the tests' own hand: no code
// of standin/ or diagnose/.
//
//   value     volts * 5 V / the reference as measured, when told so; out of low_v .. high_v the
//             fallback; else the told table, straight between its rows; then as its frame has it
//   fault     0, 1 below low_v, 2 above high_v
//   silent    less than min_supply_v between supply and ground: no message at all
//   crank     of a controller with a crank input alone: speed and position while the Hall output
//             crosses both thresholds; 0 and stopped else
#ifndef DRYCRANK_TESTS_SUPPORT_NODAL_REPORTS_H_
#define DRYCRANK_TESTS_SUPPORT_NODAL_REPORTS_H_

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "profile/bench.h"
#include "tests/support/nodal_network.h"

namespace drycrank::support {

// By the name of the controller's value; empty: silent.
using ControllerReports = std::map<std::string, double>;

ControllerReports ReportsOf(const profile::Bench& bench, const Departure& departure,
                            const std::vector<double>& stimuli);
// The same without crank inputs, of these volts.
ControllerReports ReportsAt(const profile::Bench& bench, const Departure& departure,
                            const Volts& volts);

// What of it is in the signal's frame.
std::optional<double> Received(const profile::Bench& bench, const profile::SignalRef& at,
                               const ControllerReports& reports);

}  // namespace drycrank::support

#endif  // DRYCRANK_TESTS_SUPPORT_NODAL_REPORTS_H_
