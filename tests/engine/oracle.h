// SPDX-License-Identifier: Apache-2.0
//
// Crank angle by quadrature: the instantaneous speed of a segment, written down from its definition
// (engine/motion.h, first lines), integrated in extended precision. A chain of segments is followed
// by adding up integrals. No closed form of a motion and no code under test takes part; Segment is
// used as the plain list of parameters it is.
#ifndef DRYCRANK_TESTS_ENGINE_ORACLE_H_
#define DRYCRANK_TESTS_ENGINE_ORACLE_H_

#include <algorithm>
#include <cstdint>

#include "engine/motion.h"
#include "tests/engine/quadrature.h"

namespace drycrank::quadrature {

class Oracle {
 public:
  explicit Oracle(const Segment& segment, Real begin_s = 0, Real begin_deg = 0)
      : segment_(segment), begin_s_(begin_s), begin_deg_(begin_deg) {}

  // Goes on with `next` at `t_s`, from the angle that this segment has reached.
  void Begin(Real t_s, const Segment& next) {
    begin_deg_ = DegAt(t_s);
    begin_s_ = t_s;
    segment_ = next;
  }

  Real DegAt(Real t_s) const {
    const Real x = t_s - begin_s_;
    if (segment_.kind != SegmentKind::kCrank) return begin_deg_ + SpeedIntegral(x);
    const Real mean = x * 6 * segment_.speed_rpm;
    const Real turned = Root([&](Real a) { return SlownessIntegral(a) - x; },
                             std::max<Real>(0, mean - 360), mean + 360);
    return begin_deg_ + turned;
  }

  // Seconds at which the crank is at `deg`; `low_s`, `high_s` hold it.
  Real TimeAt(Real deg, Real low_s, Real high_s) const {
    if (segment_.kind == SegmentKind::kCrank) {
      return begin_s_ + SlownessIntegral(deg - begin_deg_);
    }
    return Root([&](Real t) { return DegAt(t) - deg; }, low_s, high_s);
  }

 private:
  // Degrees per second, x seconds after the segment's begin.
  Real Speed(Real x) const {
    const Real w = 6 * static_cast<Real>(segment_.speed_rpm);
    if (segment_.kind == SegmentKind::kSine) {
      const Real a = 6 * static_cast<Real>(segment_.amplitude_rpm);
      return w + a * std::sin(2 * kPi * x / static_cast<Real>(segment_.period_s));
    }
    if (segment_.kind != SegmentKind::kRamp) return w;
    const Real to = 6 * static_cast<Real>(segment_.to_rpm);
    const Real d = segment_.duration_s;
    return x >= d ? to : w + (to - w) * x / d;
  }

  Real SpeedIntegral(Real x) const {
    const auto f = [&](Real s) { return Speed(s); };
    switch (segment_.kind) {
      case SegmentKind::kSine:
        return Integrate(f, 0, x, static_cast<Real>(segment_.period_s) / 2);
      case SegmentKind::kRamp: {  // the kink at the ramp's end bounds a panel
        const Real d = segment_.duration_s;
        if (x > d) return Integrate(f, 0, d, d) + Integrate(f, d, x, x);
        break;
      }
      default:
        break;
    }
    return Integrate(f, 0, x, x > 0 ? x : 1);
  }

  // Seconds for `turned` degrees: slowness (1 + r cos(N angle)) / w over the angle.
  Real SlownessIntegral(Real turned) const {
    const Real n = segment_.per_turn;
    const Real phase = std::fmod(begin_deg_, 720);
    const auto slowness = [&](Real a) {
      return (1 + segment_.ripple * std::cos(n * (a + phase) * kPi / 180)) /
             (6 * static_cast<Real>(segment_.speed_rpm));
    };
    return Integrate(slowness, 0, turned, 180 / n);
  }

  Segment segment_;
  Real begin_s_;
  Real begin_deg_;
};

}  // namespace drycrank::quadrature

#endif  // DRYCRANK_TESTS_ENGINE_ORACLE_H_
