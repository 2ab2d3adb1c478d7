// SPDX-License-Identifier: Apache-2.0
//
// Angles are degrees. Crank angle zero is cylinder 1's top dead centre after compression; one turn
// is 360 degrees, one four-stroke cycle 720, one two-stroke cycle 360. A crank position is kept as
// whole turns and a remainder, so that its resolution is the same after 24 h as after one turn.
#ifndef DRYCRANK_TYPES_ANGLE_H_
#define DRYCRANK_TYPES_ANGLE_H_

#include <cmath>
#include <cstdint>

namespace drycrank {

// `deg` brought into [0, period_deg). REQUIRES: period_deg > 0.
inline double WrapDeg(double deg, double period_deg) {
  const double r = std::fmod(deg, period_deg);
  const double wrapped = r < 0 ? r + period_deg : r;
  return wrapped < period_deg ? wrapped : 0.0;
}

// `deg` brought into [-period/2, period/2): the shortest way round.
inline double WrapSignedDeg(double deg, double period_deg) {
  return WrapDeg(deg + period_deg / 2, period_deg) - period_deg / 2;
}

// Position of the crank since the start of the run: turns * 360 + deg degrees.
struct CrankAngle {
  std::int64_t turns = 0;
  double deg = 0;  // [0, 360)

  static CrankAngle FromDegrees(std::int64_t turns, double deg) {
    const double whole = std::floor(deg / 360.0);
    double rest = deg - whole * 360.0;
    std::int64_t all = turns + static_cast<std::int64_t>(whole);
    if (rest >= 360.0) {
      rest -= 360.0;
      ++all;
    }
    return {all, rest};
  }
  CrankAngle Plus(double delta_deg) const { return FromDegrees(turns, deg + delta_deg); }
  // Degrees from `other` to this one; exact to the rounding of the difference.
  double Minus(const CrankAngle& other) const {
    return static_cast<double>(turns - other.turns) * 360.0 + (deg - other.deg);
  }
  // Position within a cycle of 360 or 720 degrees, [0, cycle_deg).
  double InCycle(double cycle_deg) const {
    const auto n = static_cast<std::int64_t>(cycle_deg / 360.0);
    const std::int64_t k = ((turns % n) + n) % n;
    return static_cast<double>(k) * 360.0 + deg;
  }
};

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_ANGLE_H_
