// SPDX-License-Identifier: Apache-2.0
//
// Common practice at benches, no single source.
#include "report/report.h"

namespace drycrank::report {

const std::vector<std::string>& Cautions() {
  static const std::vector<std::string> kCautions = {
      "A controller that believes its engine turns will act: it fires ignition coils, and their "
      "high "
      "voltage can kill. Unplug the coils, or leave them unsupplied, before anything is driven.",
      "It opens injectors. Keep fuel, vapour and pressurised rails off the bench and out of the "
      "room.",
      "It runs pumps, fans, glow plugs, solenoids and starter relays, at once and without warning. "
      "Unplug or disable every load that is not under test.",
      "It moves the throttle plate and other actuators with the force to break a finger. Keep "
      "hands, "
      "hair, sleeves and tools clear.",
      "Fuse every supply close to its source, set its current limit as low as the test allows, and "
      "keep an emergency stop within reach that cuts all power.",
      "Never connect an output of the simulator in parallel with a fitted sensor: unplug the "
      "sensor "
      "first. Two sources on one wire damage both, and the reading is worthless.",
      "Check supply voltage, polarity and ground with a meter before the controller is plugged in.",
      "In a vehicle: chock the wheels, put the gearbox in neutral, and disable starter, airbags "
      "and "
      "traction battery as their maker says. Never do this while driving.",
      "Wear eye protection. Do not work alone. Keep an extinguisher for electrical fires at hand.",
      "Follow the local electrical code, and leave to licensed people the work it reserves for "
      "them.",
      "A simulated engine proves circuits and messages, not the vehicle. What was met here does "
      "not "
      "replace the checks on the finished vehicle.",
  };
  return kCautions;
}

}  // namespace drycrank::report
