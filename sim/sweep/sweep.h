// SPDX-License-Identifier: Apache-2.0
//
// A sweep of a display, made from what must be shown alone: for each readout
//   values   both ends of what its message can say, both ends of its range, points between them,
//            each step of the last digit near its limits, every named value; upwards, then downwards
//   limits   wherever they are, also where none should be: halved until one raw step is left, each
//            time coming from where it was quiet (limit) or warned (end of the warning)
//   silence  its message alone stops until the value is gone, and comes back; and says that it has no
//            value, where it can
//   lamp     once the warning is over, and acknowledged, where one latches or can be acknowledged;
//            also what is kept, acknowledged; and where anything can be acknowledged, that no other
//            signal does it
//   power    the first seconds of power and the key turned off, where that is asked (switching)
// All other signals rest at values that differ from each other, chosen by the seed, so that a
// neighbour cannot be mistaken for the one that is swept. A right display shows the same whatever
// the seed is.
#ifndef DRYCRANK_SWEEP_SWEEP_H_
#define DRYCRANK_SWEEP_SWEEP_H_

#include <cstdint>
#include <string>
#include <vector>

#include "sweep/screen.h"

namespace drycrank::sweep {

struct SweepWish {
  std::uint64_t seed = 1;
  bool with_switching_on = true;  // "at power on" is a part
};

struct Swept {
  std::vector<ShownFact> facts;        // sorted
  // Readouts that were told no more while others were. Facts up to then stay.
  std::vector<std::string> not_told;
  // What is left of them where the display told nothing at all any more, and the first of these.
  // Facts up to then stay.
  std::vector<std::string> not_reached;
  std::string fell_silent_at;
};

// REQUIRES: the readouts' signals are on a bus of the bench.
Swept Sweep(const profile::Bench& bench, const std::vector<profile::Readout>& readouts,
            const SweepWish& wish, Screen& screen);

// All signals that are not the display's own at values that differ from each other, none at an end.
void SendRest(const profile::Bench& bench, std::uint64_t seed, Screen& screen);

// Each that rests, but those, at the lowest or the highest that it may have.
void SendOthers(const profile::Bench& bench, const std::vector<std::string>& but, bool high,
                Screen& screen);

// Keys alone: nobody acknowledges, and the key is on.
void RestKeys(const profile::Bench& bench, Screen& screen);

// What a display must show that is set exactly as the readouts say.
profile::Bench AsRequired(const profile::Bench& bench);

// Values of the readout's signal that a sweep sends, ascending, in the signal's unit.
std::vector<double> SweepPoints(const profile::Bench& bench, const profile::Readout& readout);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_SWEEP_H_
