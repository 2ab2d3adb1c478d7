// SPDX-License-Identifier: Apache-2.0
//
// Waves of trigger pickups that come from elsewhere, a real engine's trace: in the place of the bench's
// own wheels.
#ifndef DRYCRANK_PLANT_FEED_H_
#define DRYCRANK_PLANT_FEED_H_

#include <vector>

#include "types/time.h"
#include "types/wave.h"

namespace drycrank::plant {

class Feed {
 public:
  // At a pin: its volts. At a sensor: a coil's EMF; of a Hall sensor begin_v, 0 for low, an output that
  // conducts, and 1 for high.
  struct Piece {
    int trigger = 0;
    Wave wave;
  };
  // A trigger that is fed, and the controller's inputs that its waves are given to; none: the sensor
  // itself gives them, and they go through the harness.
  struct Fed {
    int trigger = 0;
    std::vector<int> pins;
  };

  virtual ~Feed() = default;
  virtual const std::vector<Fed>& fed() const = 0;
  // Begin of the next piece; kNever: there is none any more. In the order of their begin.
  virtual TimeNs NextNs() = 0;
  // REQUIRES: NextNs() != kNever.
  virtual Piece Take() = 0;
};

}  // namespace drycrank::plant

#endif  // DRYCRANK_PLANT_FEED_H_
