// SPDX-License-Identifier: Apache-2.0
#include "profile/turning_wheel.h"

namespace drycrank::profile {

TurningWheel TurningWheelOf(const Trigger& trigger, const Engine& engine) {
  TurningWheel wheel;
  wheel.teeth = trigger.wheel.teeth;
  wheel.turn_deg = ShaftTurnDeg(trigger.shaft, engine.cycle_deg());
  wheel.offset_deg = trigger.offset_deg;
  if (const auto* coil = std::get_if<VariableReluctancePickup>(&trigger.pickup)) {
    wheel.is_coil = true;
    wheel.emf = {coil->peak_v, coil->peak_at_rpm};
  }
  return wheel;
}

}  // namespace drycrank::profile
