// SPDX-License-Identifier: Apache-2.0
//
// Which wires belong to a device: from its terminals, through splices, to the next connectors.
#ifndef DRYCRANK_WALK_DEVICE_WIRES_H_
#define DRYCRANK_WALK_DEVICE_WIRES_H_

#include <string>
#include <vector>

#include "profile/bench.h"
#include "profile/sensors.h"
#include "profile/triggers.h"

namespace drycrank::walk {

// All terminals of a device.
std::vector<std::string> Terminals(const profile::SensorModel& model);
std::vector<std::string> Terminals(const profile::Pickup& pickup);

// Those by which a sensor gives its signal, first the one that leads to an input.
std::vector<std::string> SignalTerminals(const profile::SensorModel& model);

// All circuits on the ways from a device's terminals to controller and supply; from a splice on,
// only what leads there.
std::vector<std::string> CircuitsOf(const profile::Bench& bench,
                                    const std::vector<std::string>& terminals);

// The coils of relays that an output switches: their terminals.
std::vector<std::string> CoilsAt(const profile::Bench& bench, const std::string& output);

// The controller's input terminal that a device's terminal is wired to; empty: none.
std::string InputOf(const profile::Bench& bench, const std::string& terminal);

}  // namespace drycrank::walk

#endif  // DRYCRANK_WALK_DEVICE_WIRES_H_
