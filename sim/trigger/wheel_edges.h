// SPDX-License-Identifier: Apache-2.0
//
// A trigger wheel's teeth (degrees of its own shaft) to its edges in crank degrees, over one period
// after which the pattern repeats: a wheel on the crank every 360, a cam of a four-stroke every
// 720. A cam of a two-stroke turns with the crank: its degrees are crank degrees, its period 360.
//
//   crank angle of an edge = offset + w    (crank)                    brought into [0, period)
//                            offset + 2 w  (cam of a four-stroke)
//
// How far a variable-reluctance lobe reaches on either side: types/coil_lobe.h. See trigger_stream.h for
// the picture.
#ifndef DRYCRANK_TRIGGER_WHEEL_EDGES_H_
#define DRYCRANK_TRIGGER_WHEEL_EDGES_H_

#include <span>
#include <vector>

#include "types/wheel.h"

namespace drycrank::trigger {

struct WheelEdge {
  double crank_deg = 0;  // [0, period)
  bool metal = false;    // metal in front of the sensor from here on
  int tooth = 0;         // 1-based place in the wheel's list of teeth
  double lobe_deg = 0;   // width of the lobe
  double lead_deg = 0;   // how far before the edge it begins
};

// All edges of one period, ascending, two per tooth, levels alternating. Without advance and
// faults. REQUIRES: teeth ascending, with air between any two.
std::vector<WheelEdge> WheelEdges(const TurningWheel& wheel);

// The lobe width that is met most often (of equals, the widest): that of the wheel's regular pitch.
double FullLobeDeg(std::span<const WheelEdge> edges);

}  // namespace drycrank::trigger

#endif  // DRYCRANK_TRIGGER_WHEEL_EDGES_H_
