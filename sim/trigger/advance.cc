// SPDX-License-Identifier: Apache-2.0
#include "trigger/advance.h"

#include <algorithm>
#include <cmath>

namespace drycrank::trigger {
namespace {

constexpr TimeNs kSearchNs =
    1'000'000 * kNsPerS;  // how far ahead a line without an end is followed

// Degrees that the wheel still has to turn at t.
double MissingDeg(const engine::Motion& motion, const Advance& advance, CrankAngle edge,
                  TimeNs t_ns) {
  return edge.Minus(motion.AngleAt(t_ns)) - advance.DegAt(t_ns);
}

// REQUIRES: degrees are missing at low_ns, none at high_ns; the advance moves all the way between.
TimeNs SearchEdge(const engine::Motion& motion, const Advance& advance, CrankAngle edge,
                  TimeNs low_ns, TimeNs high_ns) {
  TimeNs t_ns = low_ns;
  while (high_ns - low_ns > 1) {
    const double missing_deg = MissingDeg(motion, advance, edge, t_ns);
    (missing_deg > 0 ? low_ns : high_ns) = t_ns;
    const double deg_per_s = 6 * motion.SpeedRpmAt(t_ns) + advance.slope_deg_per_s;
    const double step_ns = missing_deg / deg_per_s * 1e9;
    if (std::abs(step_ns) <= 0.5) return t_ns;
    TimeNs next_ns = low_ns + (high_ns - low_ns) / 2;
    if (std::abs(step_ns) < static_cast<double>(high_ns - low_ns)) {
      const TimeNs newton_ns = t_ns + std::llround(step_ns);
      if (newton_ns > low_ns && newton_ns < high_ns) next_ns = newton_ns;
    }
    t_ns = next_ns;
  }
  const double low_deg = MissingDeg(motion, advance, edge, low_ns);
  const double high_deg = MissingDeg(motion, advance, edge, high_ns);
  return std::abs(low_deg) < std::abs(high_deg) ? low_ns : high_ns;
}

}  // namespace

double Advance::DegAt(TimeNs t_ns) const {
  if (slope_deg_per_s == 0) return begin_deg;
  const TimeNs x_ns = std::max(begin_ns, std::min(t_ns, end_ns)) - begin_ns;
  return begin_deg + slope_deg_per_s * ToSeconds(x_ns);
}

TimeNs TimeOfEdge(const engine::Motion& motion, const Advance& advance, CrankAngle edge,
                  TimeNs from_ns) {
  const auto steady = [&](TimeNs t_ns) {
    const double deg = advance.DegAt(t_ns);
    return std::max(t_ns, motion.TimeAt(deg == 0 ? edge : edge.Plus(-deg)));
  };
  if (advance.slope_deg_per_s == 0 || from_ns >= advance.end_ns) return steady(from_ns);
  if (from_ns < advance.begin_ns) {
    const TimeNs t_ns = steady(from_ns);
    if (t_ns <= advance.begin_ns) return t_ns;
    from_ns = advance.begin_ns;
  }
  if (MissingDeg(motion, advance, edge, from_ns) <= 0) return from_ns;
  const TimeNs end_ns = std::min(advance.end_ns, from_ns + kSearchNs);
  if (MissingDeg(motion, advance, edge, end_ns) > 0) {
    return advance.end_ns == kNever ? kNever : steady(end_ns);
  }
  return SearchEdge(motion, advance, edge, from_ns, end_ns);
}

}  // namespace drycrank::trigger
