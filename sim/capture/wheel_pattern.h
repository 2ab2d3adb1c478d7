// SPDX-License-Identifier: Apache-2.0
//
// A wheel as a channel shows it: where in its period which edge is due. Of a switched level both
// edges of each tooth; of a coil the steep crossing of each, which has one direction.
#ifndef DRYCRANK_CAPTURE_WHEEL_PATTERN_H_
#define DRYCRANK_CAPTURE_WHEEL_PATTERN_H_

#include <string>
#include <vector>

#include "profile/bench.h"
#include "profile/triggers.h"
#include "types/nth.h"

namespace drycrank::capture {

struct PatternMark {
  double deg = 0;     // of the crank, [0, turn)
  bool high = false;  // the level from here on, as drawn
  bool begin = true;  // of a tooth; else its end
  int tooth = 0;      // from 1
};

struct WheelPattern {
  std::string name;
  double turn_deg = 360;           // after which it repeats, degrees of the crank
  std::vector<PatternMark> marks;  // ascending
  bool both_edges = true;

  int size() const { return static_cast<int>(marks.size()); }
  const PatternMark& At(int number) const {
    return marks[AsSize((number % size() + size()) % size())];
  }
  // Degrees of mark `number`, which counts on over turns.
  double DegOf(int number) const;
  double MeanStepDeg() const { return turn_deg / size(); }
  double LeastStepDeg() const;
  double MostStepDeg() const;
};

// `as_wave`: crossings of a coil's voltage, else levels.
WheelPattern PatternOf(const profile::Trigger& trigger, const profile::Engine& engine,
                       bool as_wave);
// The same trigger with another wheel on it.
WheelPattern PatternOf(profile::Trigger trigger, const profile::Wheel& wheel,
                       const profile::Engine& engine, bool as_wave);
// The tooth is not there.
WheelPattern Without(const WheelPattern& pattern, int tooth);
// The least turn of the wheel after which it looks the same: the channel alone cannot tell one such
// place from the next. The whole turn for most; a pitch for even teeth.
double OpenDegOf(const WheelPattern& pattern);
// Do all teeth stand alike?
bool IsEven(const WheelPattern& pattern);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_WHEEL_PATTERN_H_
