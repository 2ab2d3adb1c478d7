// SPDX-License-Identifier: Apache-2.0
//
// What travels on a wire that switches or swings, as the stages hand it on.
//
// Edge: an instant at which a logic channel takes a new level.
// WavePiece: the voltage at one terminal between two instants,
//     v(t) = begin_v + (end_v - begin_v) * x + peak_v * sin(pi * x),   x = (t - begin) / (end - begin)
//   A switched level is a piece with peak 0 and end == kNever ("until further notice"); the lobe that
//   a tooth induces in a variable-reluctance coil is one half sine; a sum of several sources is a run
//   of short straight pieces. A piece replaces what was before it on that terminal.
#ifndef DRYCRANK_TYPES_EDGE_H_
#define DRYCRANK_TYPES_EDGE_H_

#include <cmath>
#include <numbers>

#include "types/time.h"

namespace drycrank {

struct Edge {
  TimeNs t_ns = 0;
  int channel = 0;
  bool high = false;

  friend bool operator==(const Edge&, const Edge&) = default;
};

struct WavePiece {
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

#endif  // DRYCRANK_TYPES_EDGE_H_
