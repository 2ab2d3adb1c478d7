// SPDX-License-Identifier: Apache-2.0
//
// Which sensors and pickups reach the controller in a walk. The stand-in has the bench's own, all of
// them. A real controller gets what a message of the simulator carries, and those devices in whose
// place an output of the bench stands, at the device's own plug.
//
// An output drives the lead on which the signal is, no more: a DAC gives its volts whether or not the
// sensor's supply has a wire, and against a ground of its own. A potentiometer hangs between both leads,
// and so does what stands in the place of a coil.
#ifndef DRYCRANK_WALK_REACH_H_
#define DRYCRANK_WALK_REACH_H_

#include <set>
#include <string>

#include "profile/bench.h"

namespace drycrank::walk {

struct Reach {
  bool all = true;                      // the stand-in's
  std::set<std::string> devices = {};   // else: those driven by outputs
  std::set<std::string> circuits = {};  // and what only their driven leads hang on

  bool Has(const std::string& device) const { return all || devices.contains(device); }
};

// Of a real controller. `outputs`: those of the bench are driven.
Reach ReachOfReal(const profile::Bench& bench, bool outputs);

// Whether the controller gets it, by a wire or by a message of the simulator; what it has been told to
// measure at a terminal comes by the wire alone. REQUIRES: bench.controller.
bool SensorReaches(const profile::Bench& bench, const Reach& reach, const profile::Sensor& sensor);
bool StimulusReaches(const profile::Bench& bench, const Reach& reach, int stimulus);
// By the wheel from which the controller knows the speed.
bool EngineReaches(const profile::Bench& bench, const Reach& reach);
// Without one of its wheels the controller never knows the whole position.
bool AllWheelsReach(const profile::Bench& bench, const Reach& reach);

}  // namespace drycrank::walk

#endif  // DRYCRANK_WALK_REACH_H_
