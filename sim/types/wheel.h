// SPDX-License-Identifier: Apache-2.0
//
// A trigger wheel as it turns past its sensor: plain numbers, no profile behind them.
#ifndef DRYCRANK_TYPES_WHEEL_H_
#define DRYCRANK_TYPES_WHEEL_H_

#include <vector>

namespace drycrank {

// One tooth: metal in front of the sensor from begin to end, degrees of the wheel's own shaft,
// begin in [0, 360), end in (begin, begin + 360).
struct Tooth {
  double begin_deg = 0;
  double end_deg = 0;
};

// The EMF of a two-wire coil: its peak for a lobe of full width at a speed of the crank.
struct CoilEmf {
  double peak_v = 1;
  double peak_at_rpm = 200;
};

struct TurningWheel {
  std::vector<Tooth> teeth;  // ascending, with air between any two
  // Crank degrees for one turn of its shaft, after which the pattern repeats: 360 on the crank and
  // on any shaft of a two-stroke, 720 on the cam of a four-stroke, 1080 on the rotor of a rotary
  // engine.
  double turn_deg = 360;
  // Crank degrees after cylinder 1's firing top dead centre at which the wheel's own 0 degrees
  // passes the sensor. [0, 1080)
  double offset_deg = 0;
  bool is_coil = false;  // else a switching sensor: one event per tooth edge
  CoilEmf emf;
};

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_WHEEL_H_
