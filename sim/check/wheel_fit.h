// SPDX-License-Identifier: Apache-2.0
//
// The edges of one cycle against where a wheel's edges are due: which belong together, how far they
// are off, which are missing, which are too many; and by how much the whole wheel is turned.
//
//   due    |    |         |    |             due + shift: where they are looked for
//   seen     |    |              |  |        an edge belongs to the nearest due one of its level, no
//            1    1              2  extra    further off than half the way to the next
//
// Rejected: counting from a gap, as a controller does. It needs a gap, and one edge too many moves
// all that follow.
#ifndef DRYCRANK_CHECK_WHEEL_FIT_H_
#define DRYCRANK_CHECK_WHEEL_FIT_H_

#include <array>
#include <span>
#include <vector>

#include "check/edge_places.h"

namespace drycrank::check {

struct SeenEdge {
  double deg = 0;  // in the cycle
  bool high = false;
};

struct Fit {
  double shift_deg = 0;  // the wheel as due, turned late by this
  bool inverted = false;  // levels taken the other way round
  int found = 0, missing = 0, extra = 0;
  double mean_deg = 0;                 // of those found, late is positive; beside shift_deg
  double least_deg = 0, most_deg = 0;  // of those found
  double worst_deg = 0;                // the one farthest off ...
  int worst = -1;                      // ... and which of the due edges it is
  int first_missing = -1;              // of the due edges
  double first_extra_deg = 0;

  bool whole() const { return missing == 0 && extra == 0; }
  double late_deg() const { return shift_deg + mean_deg; }
};

class WheelFit {
 public:
  // `due`: both levels, or one alone, ascending. `period_deg`: after which the wheel is the same.
  WheelFit(std::vector<BuiltEdge> due, double cycle_deg, double period_deg);

  const std::vector<BuiltEdge>& due() const { return due_; }
  // Farther off than this, an edge belongs to no due one.
  double window_deg() const { return window_deg_; }
  Fit At(std::span<const SeenEdge> seen, double shift_deg, bool inverted = false) const;
  // The shift at which fewest are left over, of equals where all are off by the same, of equals the
  // smallest; in [-period/2, period/2). `or_inverted`: levels may be taken the other way round.
  Fit Best(std::span<const SeenEdge> seen, bool or_inverted) const;

 private:
  int Nearest(double deg, bool high) const;

  std::vector<BuiltEdge> due_;
  double cycle_deg_, period_deg_;
  std::array<std::vector<int>, 2> of_level_;  // indices into due_, ascending
  double window_deg_ = 0;
  mutable std::vector<bool> taken_;
};

}  // namespace drycrank::check

#endif  // DRYCRANK_CHECK_WHEEL_FIT_H_
