// SPDX-License-Identifier: Apache-2.0
//
// The network as an ngspice deck with an operating point analysis, so that an independent program
// can solve it. Node k is "nk" (a comment line names it), the reference "0". Fixed sources are
// ideal ones behind their resistance; devices with states are behavioural sources that decide by
// their own voltages, so that the deck does not repeat the states found here.
#ifndef DRYCRANK_HARNESS_NETLIST_H_
#define DRYCRANK_HARNESS_NETLIST_H_

#include <span>
#include <string>

#include "harness/topology.h"

namespace drycrank::harness {

// `values`: of the devices, as harness.h says; those of parts are no matter.
// REQUIRES: values.size() is that of the devices, or of all branches.
std::string FormatNetlist(const Topology& topology, std::span<const double> values);

}  // namespace drycrank::harness

#endif  // DRYCRANK_HARNESS_NETLIST_H_
