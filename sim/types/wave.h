// SPDX-License-Identifier: Apache-2.0
//
// What a terminal of the controller sees, behind the harness ("at the controller pin"): its voltage
// between two instants,
//
//   v(t) = begin_v + (end_v - begin_v) * x + peak_v * sin(pi * x),   x = (t - begin) / (end - begin)
//
// A switched level is a wave with peak 0 and end == kNever ("until further notice"); the lobe that a
// tooth induces in a coil is one half sine; a sum of several sources is a run of short straight
// ones. A wave replaces what was before it on that terminal. What a device gives before the harness
// is a Source (types/source.h).
#ifndef DRYCRANK_TYPES_WAVE_H_
#define DRYCRANK_TYPES_WAVE_H_

#include <cmath>
#include <numbers>

#include "types/time.h"

namespace drycrank {

struct Wave {
  TimeNs begin_ns = 0;
  TimeNs end_ns = kNever;
  double begin_v = 0;
  double end_v = 0;
  double peak_v = 0;

  // Volts at x as above. REQUIRES: 0 <= x <= 1.
  double AtFraction(double x) const {
    return begin_v + (end_v - begin_v) * x + peak_v * std::sin(std::numbers::pi * x);
  }
  // Volts at t_ns; after the end the last value holds. REQUIRES: t_ns >= begin_ns.
  double At(TimeNs t_ns) const {
    if (end_ns == kNever || end_ns <= begin_ns) return begin_v;
    if (t_ns >= end_ns) return end_v;
    return AtFraction(static_cast<double>(t_ns - begin_ns) /
                      static_cast<double>(end_ns - begin_ns));
  }
};

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_WAVE_H_
