// SPDX-License-Identifier: Apache-2.0
//
// Trigger wheels of a bench with the pickups in front of them (bench.h).
#ifndef DRYCRANK_PROFILE_TRIGGERS_H_
#define DRYCRANK_PROFILE_TRIGGERS_H_

#include <string>
#include <variant>

#include "profile/wheel_shape.h"
#include "types/diagnostic.h"
#include "types/written_at.h"

namespace drycrank::profile {

// Hall sensor with open-collector output. `signal` is pulled to `ground` while metal is in front
// (when low_at_tooth) and the sensor has at least min_supply_v between supply and ground.
struct HallPickup {
  static constexpr const char* kWord = "hall";
  std::string supply, ground, signal;  // terminals
  bool low_at_tooth = true;
  double on_ohm = 25;        // output transistor conducting
  double off_ohm = 5e6;      // output transistor off
  double supply_ohm = 1500;  // current drawn by the sensor, as a resistance
  double min_supply_v = 3.8;
  double diode_v = 0.7;  // the output transistor's reverse diode, ground -> signal
};

// Two-wire coil: EMF from minus to plus, proportional to speed. Positive while a tooth approaches.
struct VariableReluctancePickup {
  static constexpr const char* kWord = "variable_reluctance";
  std::string plus, minus;  // terminals
  double coil_ohm = 900;
  double peak_v = 1;         // open-circuit peak of a full-width lobe ...
  double peak_at_rpm = 200;  // ... at this speed of the crank
  double noise_v = 0;        // deviation of the noise per lobe, V
};

using Pickup = std::variant<HallPickup, VariableReluctancePickup>;

struct Trigger {
  std::string name;
  std::string label;
  Shaft shaft = Shaft::kCrank;
  Wheel wheel;
  // Where the wheel sits: crank degrees after cylinder 1's firing top dead centre at which the
  // wheel's own 0 degrees passes the sensor. [0, 720)
  double offset_deg = 0;
  // Stimulus (deg of crank) by which a cam is advanced: its edges come that much earlier. -1: none.
  int advance_stimulus = -1;
  Pickup pickup;
  bool fitted = true;  // false: on paper only, its plug hangs free
  Place place;
  WrittenAt written = {};
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_TRIGGERS_H_
