// SPDX-License-Identifier: Apache-2.0
//
// What a display must show: one readout for each value, kept with the vehicle, apart from what has
// been typed into the display (`display:` in bench.h). The checker judges by these, the stand-in
// plays by the others, so that a display set wrong cannot agree with itself.
//
//   warns       value > warn_above, or value < warn_below
//   lets go     value <= warn_above_ends, or value >= warn_below_ends
//   gone        nothing came for dashes_after_ms: `dashes` stands in the value's place
//   none        the message says that it has no value: `not_available` stands there, at once
//   lamp        lit while it warns; one that blinks blinks until acknowledged, one that latches stays
//               lit after the warning until acknowledged, or switched off
//   kept        the highest (lowest) since switched on, or acknowledged
//   bar         in place of the number: how many of its segments are lit, of a value that counts
//               segments(value) = (value - low) / (high - low) * segments, held within 0 and segments:
//               filled: all that it has passed; half: the nearest whole number; begun: the next one, too
#ifndef DRYCRANK_PROFILE_READOUT_H_
#define DRYCRANK_PROFILE_READOUT_H_

#include <cstdint>
#include <map>
#include <optional>
#include <string>

#include "types/diagnostic.h"

namespace drycrank::profile {

inline constexpr char kDashes[] = "---";
// Names of a shown value, rounded to a whole number: {-1: R, 0: N}.
using ValueNames = std::map<std::int64_t, std::string>;

enum class Keeps { kNothing, kHighest, kLowest };

// How a display goes on and off. Its lamps are tried once it is no longer dark.
struct Switching {
  double dark_ms = 0;       // after power came it shows nothing for so long
  double lamp_test_ms = 0;  // then every lamp is lit for so long
  std::string key = {};     // MESSAGE.SIGNAL that is 0 with the key off; empty: none
  double off_after_ms = 0;  // with the key off for so long it is dark
};

enum class SegmentLights { kFilled, kHalf, kBegun };

// A display that shows the number beside its bar has two readouts of one signal.
struct Bar {
  double low = 0, high = 0;  // in the unit shown: nothing is lit, all are
  int segments = 0;
  SegmentLights lights = SegmentLights::kFilled;
};
// REQUIRES: low < high.
int LitSegments(const Bar& bar, double value);
std::string BarText(const Bar& bar, int lit);  // "12 of 20"

struct Readout {
  std::string name;
  std::string label;
  std::string message, signal;  // of the buses
  std::string unit;             // shown in this unit; all values below are in it
  int decimals = 0;
  int page = 1;
  std::optional<double> min, max;  // what it is held within; none: all that the signal can say
  ValueNames values = {};
  std::optional<double> warn_above, warn_above_ends, warn_below, warn_below_ends;
  std::string lamp = {};  // lit while it warns: a colour, or a name; empty: none
  int priority = 1;       // of two that warn by one lamp, the higher is seen
  std::string dashes = kDashes;
  double dashes_after_ms = 0;
  Place place = {};
  std::string not_available = {};  // empty: as dashes
  double lamp_blinks_hz = 0;       // 0: steady
  bool lamp_latches = false;
  std::string acknowledged_by = {};  // MESSAGE.SIGNAL, by any value but 0; empty: by nothing
  Keeps keeps = Keeps::kNothing;
  std::optional<Bar> bar = {};
};

// Left out, a value is gone after five periods of its message and not before a quarter of a second:
// ours, no source.
double UsualDashesAfterMs(double period_ms);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_READOUT_H_
